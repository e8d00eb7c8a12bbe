// Random and mutated bytes through the whole machine and through the decoder.
// HOURHINGE_FUZZ sets the number of byte strings: 20 000 by default, 1 000 000 for the full campaign:
//   HOURHINGE_FUZZ=1000000 dotnet test tests/unit --filter FuzzCampaign --logger "console;verbosity=detailed"

using System.Diagnostics;
using System.Text;
using Hourhinge.Firmware.Guards;
using Hourhinge.SharedMath.Profile;
using Hourhinge.Tests.SharedMath.Compile;
using Hourhinge.Tests.SharedMath.Profile;
using Hourhinge.Tests.Support;
using Xunit.Abstractions;

namespace Hourhinge.Tests.Firmware.Logic;

/// <summary>0 exceptions that escape or that only the loop's guard catches, 0 pulses.</summary>
public class FuzzCampaign(ITestOutputHelper output)
{
    // Lines for the mutations to start from. The machine does not know its position, so none of them may move the
    // motor.
    private static readonly string[] _lines =
    [
        "*IDN?", "*RST", "*CLS", "*OPC?;*OPC;*WAI", "*ESE 255;*ESE?", "*ESR?;*STB?;*SRE 32", "*TST?",
        "SYST:ERR?;ERR:COUN?", "SYSTem:HELP:HEADers?", "STAT:OPER:ENAB 32767;COND?", "STAT:QUES?;QUES:COND?",
        "PROF:CRC?;NAME?;SLOT?", "PROF:DATA?", "RIG:DATA?", "CAL:CLOC -12.345;CLOC?", "INIT", "INIT:RES", "ABOR", "REW",
        "MOT:STAT?;POS?;DUE?;ELAP?;REM?;LAT?;FAUL?", "PROF:DATA #15abcde", "RIG:DATA #3010key = \"a\"",
        "PROF:DATA #0", "MOT:POS:DECL?", ":::;;**??", "*ESE #HFF", "\"'\"'#9999999999",
    ];

    private static int Count =>
        int.TryParse(Environment.GetEnvironmentVariable("HOURHINGE_FUZZ"), out int n) ? n : 20000;

    [Fact]
    public void No_byte_string_gets_an_exception_or_a_pulse_out_of_the_machine()
    {
        byte[][] seeds = Seeds();
        Stopwatch watch = Stopwatch.StartNew();
        long bytesSent = 0;
        int errors = 0;
        int uploads = 0;
        int skipped = 0;
        Bench bench = Ready(1);
        for (int i = 0; i < Count; i++)
        {
            Random random = new(i);
            byte[] bytes = random.Next(5) == 0
                ? Noise(random)
                : ByteMutations.Mutate(seeds[random.Next(seeds.Length)], random);
            if (!IsHarmless(bytes))
            {
                skipped++;
                continue;
            }

            bytesSent += bytes.Length;
            bench.Link.Send(bytes);
            bench.Link.Send("\n"u8);
            while (bench.Link.UnreadBytes > 0)
            {
                bench.Pass();
            }

            bench.Pass(3);
            bench.Link.Receive();
            Assert.True(bench.Controller.FaultReason != Fault.Internal, $"string {i}: {bench.Controller.FaultDetail}");
            Assert.True(bench.Motor.Pulses == 0, $"string {i} moved the motor: {Encoding.Latin1.GetString(bytes)}");
            errors += bench.Machine.Instrument.Errors.Count > 0 ? 1 : 0;
            bench.Machine.Instrument.Errors.Clear();
            if (bench.Controller.IsPositionKnown)
            {
                uploads++;
                bench = Ready(i);
            }

            if (i % 10 == 9)
            {
                // Ends a block that a string has left open, by a pause, a newline and another pause; otherwise it would
                // swallow all that follow.
                bench.Clock.AdvanceTo(bench.Clock.TrueUs + 3200000);
                bench.Pass(2);
                bench.Tell(string.Empty);
                bench.Clock.AdvanceTo(bench.Clock.TrueUs + 600000);
                bench.Pass(2);
            }

            if (i % 500 == 499)
            {
                // A machine that has seen all this still answers.
                bench.Tell("*CLS");
                Assert.StartsWith("Hourhinge,", bench.Ask("*IDN?"), StringComparison.Ordinal);
            }
        }

        output.WriteLine(
            $"machine: {Count - skipped} strings, {bytesSent} bytes, {errors} with errors reported, {uploads} "
            + "positions declared, "
            + $"{skipped} left out, 0 exceptions, 0 pulses, {watch.Elapsed.TotalSeconds:F1} s");
        Assert.True(errors > Count / 3, "the strings hardly reach the parser");
        Assert.True(skipped < Count / 50);
    }

    [Fact]
    public void No_byte_string_gets_an_exception_or_an_unsafe_profile_out_of_the_decoder()
    {
        byte[][] seeds =
            [ProfileCodecTests.GoldenBytes(), ProfileCodec.Encode(SampleDesigns.Compile(SampleDesigns.Bench(90)))];
        Stopwatch watch = Stopwatch.StartNew();
        ProfileCodec codec = new();
        int passed = 0;
        for (int i = 0; i < Count; i++)
        {
            Random random = new(i);
            byte[] bytes = random.Next(5) == 0 ? Noise(random) : ByteMutations.Mutate(seeds[i % 2], random);
            if (bytes.Length >= 12 && random.Next(4) > 0)
            {
                LittleEndian.Put(bytes, 8, 4, bytes.Length);
                LittleEndian.Put(bytes, bytes.Length - 4, 4, Crc32.Of(bytes, 0, bytes.Length - 4));
            }

            DriveProfile? profile = codec.Decode(bytes, 0, bytes.Length);
            Assert.True(profile != null || codec.Error != null);
            if (profile != null)
            {
                passed++;
                ProfileSafetyTests.CheckInvariants(profile, random, 3);
            }
        }

        output.WriteLine(
            $"decoder: {Count} strings, {passed} let through and safe, 0 exceptions, "
            + $"{watch.Elapsed.TotalSeconds:F1} s");
        Assert.True(passed > Count / 100, "the strings hardly reach the checks behind the CRC");
    }

    // A machine with a profile but an unknown position and no home switch: nothing may start it.
    private static Bench Ready(int seed)
    {
        Bench bench = new() { PassMs = 0.1 };
        DriveProfile profile = SampleDesigns.Blank("fuzz " + (seed & 15));
        profile.Flags = 0;
        bench.Upload(SampleDesigns.Compile(SampleDesigns.Bench(5), profile));
        bench.AssertNoError();
        return bench;
    }

    private static byte[][] Seeds()
    {
        DriveProfile profile = SampleDesigns.Blank("seed");
        profile.Flags = 0;
        byte[] upload =
            Bench.Command("PROF:DATA ", ProfileCodec.Encode(SampleDesigns.Compile(SampleDesigns.Bench(7), profile)));
        return [.. _lines.Select(Encoding.ASCII.GetBytes), upload[..^1],
            Bench.Command("RIG:DATA ", new byte[100])[..^1]];
    }

    private static byte[] Noise(Random random)
    {
        byte[] bytes = new byte[random.Next(60)];
        random.NextBytes(bytes);
        if (random.Next(2) == 0)
        {
            // Only characters that the grammar knows, so that noise gets past the first byte.
            const string Alphabet = "ABCDEIMNOPRSTabcdeimnoprst*:;?,#0123456789+-.\"' \n";
            for (int i = 0; i < bytes.Length; i++)
            {
                bytes[i] = (byte)Alphabet[bytes[i] % Alphabet.Length];
            }
        }

        return bytes;
    }

    // A jog of an unknown position is a legitimate motion that a peer may ask for; its mnemonic is the one word left
    // out.
    private static bool IsHarmless(byte[] bytes) =>
        !Encoding.Latin1.GetString(bytes).Contains("JOG", StringComparison.OrdinalIgnoreCase);
}
