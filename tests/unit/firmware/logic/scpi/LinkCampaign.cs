// Hang-ups, reconnects and silence in the middle of everything. HOURHINGE_LINK sets the number of byte strings and a
// hundredth of it the number of parser states; 3 000 by default, 1 000 000 for the full campaign:
//   HOURHINGE_LINK=1000000 dotnet test tests/unit --filter LinkCampaign --logger "console;verbosity=detailed"

using System.Diagnostics;
using System.Text;
using System.Text.RegularExpressions;
using Hourhinge.Firmware.Control;
using Hourhinge.SharedMath.Profile;
using Hourhinge.Tests.SharedMath.Compile;
using Hourhinge.Tests.Support;
using Xunit.Abstractions;

namespace Hourhinge.Tests.Firmware.Logic.Scpi;

/// <summary>Nothing moves without a complete command in one connection, and ABORt is always heard.</summary>
public sealed partial class LinkCampaign(ITestOutputHelper output)
{
    private static readonly string[] _motions =
        ["INIT", "INITiate:IMMediate", "REW", "MOT:JOG 40", ":init", "*CLS;:REW", "MOT:STAT?;JOG 7", "INIT:RES"];

    private static readonly string[] _others =
    [
        "*IDN?", "SYST:HELP:HEAD?", "SYST:HELP:HEAD?", "RIG:THR \"M6\"", "*OPC?;*WAI", "MOT:STAT?;POS?;DUE?",
        "RIG:DATA #3010key = \"a\"", "PROF:DATA?", "*ESE #HFF", "RIG:DATA #0x", "RIG:DATA #44", "*CLS;*CLS;*CLS;*CLS",
        "RIG:THR \"open", "RIG:DATA #41000half", "ABOR", "*RST", "RIG:PITC 1.5 MM", "PROF:DATA #9999999999",
    ];

    private static int Count => int.TryParse(Environment.GetEnvironmentVariable("HOURHINGE_LINK"), out int n)
        ? n
        : 3000;

    [Fact]
    public void No_motion_without_a_complete_command_in_one_connection()
    {
        var watch = Stopwatch.StartNew();
        int asked = 0;
        int moved = 0;
        int unasked = 0;
        Bench bench = Ready();
        for (int i = 0; i < Count; i++)
        {
            var random = new Random(i);
            byte[] bytes = Input(random);
            int cut = random.Next(bytes.Length + 1);
            bool may = MayMove(bytes.AsSpan(0, cut)) || MayMove(bytes.AsSpan(cut));
            bool does = Send(bench, bytes.AsSpan(0, cut));
            if (random.Next(2) == 0)
            {
                bench.Link.Connect();
            }
            else
            {
                bench.Clock.AdvanceTo(bench.Clock.TrueUs + 3100000);
            }

            does |= Pass(bench, 2);
            does |= Send(bench, bytes.AsSpan(cut));
            asked += may ? 1 : 0;
            moved += does ? 1 : 0;
            if (does && !may)
            {
                unasked++;
                output.WriteLine($"string {i}: {Encoding.Latin1.GetString(bytes[..cut])} | "
                    + Encoding.Latin1.GetString(bytes[cut..]));
            }

            Settle(bench);
        }

        output.WriteLine($"{Count} strings cut by a hang-up: {asked} hold a complete motion command, {moved} moved, "
            + $"{unasked} unasked, {watch.Elapsed.TotalSeconds:F0} s");
        Assert.Equal(0, unasked);
        Assert.True(moved > Count / 50, "the strings hardly ever move the motor");
    }

    // Every newline and every motion word lies inside a string or a block that is cut before its end.
    [Fact]
    public void Nothing_inside_a_string_or_a_block_is_executed_wherever_the_sender_stops()
    {
        Bench bench = Ready();
        for (int i = 0; i < Count / 10; i++)
        {
            var random = new Random(i);
            string data = string.Concat(Enumerable.Range(0, 1 + random.Next(20))
                .Select(_ => random.Next(3) == 0 ? "\nREW\n" : random.Next(2) == 0 ? "\nINIT\n" : "MOT:JOG 9\n;"));
            string start = random.Next(3) switch
            {
                0 => "RIG:THR \"",
                1 => "RIG:DATA #0",
                _ => $"RIG:DATA #4{(data.Length + 1).ToString("D4")}",
            };
            byte[] bytes = Encoding.Latin1.GetBytes(start + data);
            int cut = start.Length + random.Next(data.Length + 1);
            bool moved = Send(bench, bytes.AsSpan(0, cut));
            bench.Clock.AdvanceTo(bench.Clock.TrueUs + 600000);
            Assert.False(moved | Pass(bench, 5), $"string {i}: {start}{data}");
            Settle(bench);
        }
    }

    [Fact]
    public void Abort_stops_the_motor_within_50_ms_of_its_newline_in_any_state_of_the_parser()
    {
        int states = Math.Max(300, Count / 100);
        double worstMs = 0;
        for (int i = 0; i < states; i++)
        {
            var random = new Random(i);
            Bench bench = Ready();
            bench.PassMs = 10;
            bench.Link.PeerBufferBytes = random.Next(2) == 0 ? 0 : 65536;
            for (int lines = random.Next(12); lines > 0; lines--)
            {
                bench.Link.Send(Input(random));
                bench.Link.Send("\n"u8);
            }

            byte[] last = Input(random);
            bench.Link.Send(last.AsSpan(0, random.Next(last.Length + 1)));
            while (bench.Link.UnreadBytes > 0)
            {
                bench.Pass();
            }

            bool connects = random.Next(3) == 0;
            if (connects)
            {
                bench.Link.Connect();
                bench.Pass();
            }
            else
            {
                bench.Pass(1 + (int)(510 / bench.PassMs));
            }

            Assert.Null(bench.Controller.State == ControllerState.Tracking ? null : Restart(bench, random));
            bench.Link.Send("ABOR\n"u8);
            double sent = bench.Clock.TrueUs;
            while (bench.Controller.IsMoving)
            {
                bench.Pass();
                double ms = (bench.Clock.TrueUs - sent) / 1000;
                Assert.True(ms <= 50, $"state {i}: {ms} ms");
                worstMs = Math.Max(worstMs, ms);
            }

            bench.Pass(40);
            Assert.False(bench.Controller.IsMoving, $"state {i}: moves again");
        }

        output.WriteLine($"{states} parser states: ABORt within {worstMs:F0} ms at passes of 10 ms");
    }

    private static string? Restart(Bench bench, Random random)
    {
        bench.Controller.Abort();
        bench.Controller.DeclarePosition(400);
        return random.Next(2) == 0 ? bench.Controller.Start(false) : bench.Controller.Rewind();
    }

    private static byte[] Input(Random random)
    {
        var text = new StringBuilder();
        for (int lines = 1 + random.Next(3); lines > 0; lines--)
        {
            string[] words = random.Next(2) == 0 ? _motions : _others;
            text.Append(words[random.Next(words.Length)]).Append(random.Next(4) == 0 ? ";:" : "\n");
        }

        byte[] bytes = Encoding.Latin1.GetBytes(text.ToString());
        return random.Next(2) == 0 ? bytes : ByteMutations.Mutate(bytes, random);
    }

    // Independent of the parser: a motion word with a newline after it.
    private static bool MayMove(ReadOnlySpan<byte> bytes) => Complete().IsMatch(Encoding.Latin1.GetString(bytes));

    private static bool Send(Bench bench, ReadOnlySpan<byte> bytes)
    {
        bench.Link.Send(bytes);
        bool moved = false;
        while (bench.Link.UnreadBytes > 0)
        {
            moved |= Pass(bench, 1);
        }

        return moved | Pass(bench, 4);
    }

    private static bool Pass(Bench bench, int passes)
    {
        bool moved = false;
        for (int i = 0; i < passes; i++)
        {
            bench.Pass();
            moved |= bench.Controller.IsMoving;
        }

        return moved;
    }

    private static void Settle(Bench bench)
    {
        bench.Link.Connect();
        bench.Pass(2);
        bench.Controller.Abort();
        bench.Controller.DeclarePosition(400);
        bench.Motor.Microsteps = 400;
        bench.Machine.Instrument.Errors.Clear();
    }

    private static Bench Ready()
    {
        Bench bench = Bench.WithProfile(_profile);
        bench.Motor.Microsteps = 400;
        bench.Controller.DeclarePosition(400);
        return bench;
    }

    private static readonly DriveProfile _profile = SampleDesigns.Compile(SampleDesigns.Bench());

    [GeneratedRegex("(INIT|REW|JOG)[\\s\\S]*\n", RegexOptions.IgnoreCase)]
    private static partial Regex Complete();
}
