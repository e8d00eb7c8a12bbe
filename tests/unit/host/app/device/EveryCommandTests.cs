using System.Text.RegularExpressions;
using Hourhinge.Firmware.Protocol;
using Hourhinge.Tests.Firmware;
using Xunit.Abstractions;

namespace Hourhinge.Tests.Host.App.Device;

/// <summary>No command of the protocol without its verb: the firmware's table against what the verbs really
/// send.</summary>
public partial class EveryCommandTests(ITestOutputHelper output)
{
    // What programs use to follow a command, and people do not: `device send` sends it.
    private static readonly string[] _raw =
    [
        "*CLS", "*ESE", "*ESE?", "*ESR?", "*OPC", "*OPC?", "*SRE", "*SRE?", "*STB?", "*WAI",
        ":STATus:OPERation[:EVENt]?", ":STATus:OPERation:CONDition?", ":STATus:OPERation:ENABle",
        ":STATus:OPERation:ENABle?", ":STATus:QUEStionable[:EVENt]?", ":STATus:QUEStionable:ENABle",
        ":STATus:QUEStionable:ENABle?", ":STATus:PRESet", ":RIG:THRead?",
        ":MOTion:TRAin?",
    ];

    private static readonly bool[] _kinds = [false, true];

    [Fact]
    public void No_command_of_the_protocol_is_without_its_verb()
    {
        using ServedController served = Tool.Serve();
        using var cable = new LinkRecorder(served.TcpPort);
        Run(cable, Lines());
        using ServedController dc = Tool.Serve(Tool.Example("bent-m6-dc-encoder"));
        using var other = new LinkRecorder(dc.TcpPort);
        Run(other, ["upload RIG:bent-m6-dc-encoder", "device edit motor.bridge=true"]);

        string doubled = Path.Combine(Path.GetTempPath(), $"double-{Guid.NewGuid():N}.toml");
        Run(cable, DoubleArm(doubled));
        File.Delete(doubled);
        Dictionary<string, CommandRow> rows = Rows();
        HashSet<string> verbs = Sent(rows, cable, other);
        string[] missing = [.. rows.Keys.Except(verbs).Except(_raw)];
        Assert.True(missing.Length == 0, $"no verb sends: {string.Join(", ", missing)}");
        string[] needless = [.. _raw.Except(rows.Keys)];
        Assert.True(needless.Length == 0, $"not in the protocol: {string.Join(", ", needless)}");

        // The rest goes through `device send`, and the controller knows every one.
        foreach (string header in _raw)
        {
            CommandRow row = rows[header];
            string message = Short(header) + (header.EndsWith('?') || row.Range == null ? "" : " DEF");
            (int code, _, string error) = Tool.Run("device", "send", message, "--to", cable.Port);
            Assert.True(code == 0, $"{message}: {error}");
        }

        Assert.Empty(rows.Keys.Except(Sent(rows, cable, other)));
        output.WriteLine($"{rows.Count} commands and queries: {verbs.Count} are sent by verbs, {_raw.Length} by "
            + "`device send`");
    }

    [Fact]
    public void The_comparison_notices_a_command_without_verb()
    {
        var rows = new Dictionary<string, CommandRow>
        {
            [":MOTion:STATe?"] = new(":MOTion:STATe", CommandRow.Query, 0, "", ""),
            [":SYSTem:ERRor[:NEXT]?"] = new(":SYSTem:ERRor[:NEXT]", CommandRow.Query, 0, "", ""),
            [":NEW:THINg"] = new(":NEW:THINg", CommandRow.Command, 0, "", ""),
        };
        Assert.Equal([":MOTion:STATe?", ":SYSTem:ERRor[:NEXT]?"],
            Match(["MOT:STAT?;:SYSTem:ERRor?", "THINg 3"], rows).Order());
        Assert.Contains(":NEW:THINg", Match(["MOTion:STATe?", ":new:thin 3"], rows));
    }

    private static IEnumerable<string> Lines()
    {
        yield return "device status";
        yield return "upload RIG:fixed-rod-offset";
        yield return "device edit hinge.radius_mm=229 hinge.surface_offset_mm=4mm hinge.tip_radius_mm=2.5";
        yield return "upload RIG:bent-m6-geared";
        yield return "device at-start";
        yield return "device jog 5mm --wait";
        yield return "device jog -10 --wait";
        yield return "device at 0";
        yield return "device clock --trim 10";
        yield return "device start";
        yield return "device shutter --count 3 --exposure 1s --gap 1 --settle 1 --dither 2 --auto on";
        yield return "device shutter start";
        yield return "device shutter stop";
        yield return "device dither --size 0";
        yield return "device stop";
        yield return "device resume";
        yield return "device stop";
        yield return "device shutter --save";
        yield return "device supply";
        yield return "device keep-alive --load 0.2 --every 8";
        yield return "device board --rate 90000 --travel 1099511627776 --home off --end on";
        yield return "device edit rod.thread=M6";
        yield return "device edit rod.pitch_mm=1.001 rod.shortest_mm=21.5 rod.longest_mm=131 hinge.form=bent-rod";
        yield return "device edit hinge.motion=opens hinge.nut_arm_mm=246.1 hinge.anchor_arm_mm=246.1 "
            + "hinge.bend_radius_mm=246.1";
        yield return "device edit gear.pairs=52/17 motor.full_steps=32 motor.microsteps=2 "
            + "motor.pull_in_steps_per_sec=650 motor.rewind_steps_per_sec=900 motor.ramp_steps_per_sec2=1400 "
            + "motor.approach_steps_per_sec=150 motor.reversed=true motor.release_when_idle=false";
        yield return "device edit switches.home=true switches.end=false switches.back_off_mm=0.6 rate.follow=stars "
            + "rate.correction_ppm=5 site.latitude_deg=43 clock.trim_ppm=3";
        yield return "device edit rate.follow=refracted-stars rate.declination_deg=40 rate.hour_angle_h=-1";
        yield return "device edit periodic.1=1,12um,30deg";
        yield return "device edit";
        yield return "device edit --cancel";
        yield return "device read-rig";
        yield return "device errors";
        yield return "device commands";
        yield return "device self-test";
        yield return "device watch --count 1";
        yield return "device rewind";
        yield return "device stop";
        yield return "device reset";
    }

    private static IEnumerable<string> DoubleArm(string rig)
    {
        (int code, _, string error) = Tool.Run("rig", "new", rig, "--form", "camera-tip-straight");
        Assert.True(code == 0, error);
        yield return $"upload {rig}";
        yield return "device edit hinge.contact_arm_mm=200.5 hinge.hinge_distance_mm=-100.5 hinge.hinge_height_mm=0.1 "
            + "hinge.contact_offset_mm=0.1";
    }

    // Each row, as a command and as a query where it is both.
    private static Dictionary<string, CommandRow> Rows()
    {
        var rows = new Dictionary<string, CommandRow>();
        foreach (CommandRow row in new Bench().Machine.Instrument.Sets.SelectMany(s => s.Rows))
        {
            foreach (bool isQuery in _kinds.Where(row.Allows))
            {
                rows[row.Header + (isQuery ? "?" : "")] = row;
            }
        }

        return rows;
    }

    private static HashSet<string> Sent(Dictionary<string, CommandRow> rows, params LinkRecorder[] cables) =>
        Match(cables.SelectMany(c => c.Messages()), rows);

    private static void Run(LinkRecorder cable, IEnumerable<string> lines)
    {
        foreach (string line in lines)
        {
            string[] args = [.. line.Split(' ').Select(w => w.StartsWith("RIG:", StringComparison.Ordinal)
                ? Tool.Example(w[4..]) : w)];
            (int code, _, string error) = Tool.Run([.. args, "--to", cable.Port]);
            // Some need parts that the virtual board lacks; they are sent all the same.
            Assert.True(code is 0 or 1 || (code == 3 && error.Contains("refused", StringComparison.Ordinal)),
                $"{line}: {code} {error}");
        }
    }

    private static HashSet<string> Match(IEnumerable<string> messages, Dictionary<string, CommandRow> rows)
    {
        var found = new HashSet<string>();
        Dictionary<string, Regex> patterns = rows.Keys.ToDictionary(k => k, Pattern);
        foreach (string message in messages)
        {
            string path = "";
            foreach (string unit in message.Split(';'))
            {
                string header = unit.Trim().Split(' ')[0];
                string whole = header.StartsWith(':') || header.StartsWith('*') ? header : $"{path}:{header}";
                path = header.StartsWith('*') ? path : whole.Contains(':') ? whole[..whole.LastIndexOf(':')] : "";
                found.UnionWith(patterns.Where(p => p.Value.IsMatch(whole)).Select(p => p.Key));
            }
        }

        return found;
    }

    // ":STATus:OPERation[:EVENt]?" as a pattern of short and long forms.
    private static Regex Pattern(string header)
    {
        string pattern = Mnemonic().Replace(header.Replace("*", @"\*", StringComparison.Ordinal)
            .Replace("?", @"\?", StringComparison.Ordinal)
            .Replace("[", "(", StringComparison.Ordinal).Replace("]", ")~", StringComparison.Ordinal), m =>
            {
                string capitals = string.Concat(m.Value.TakeWhile(char.IsUpper));
                return $"{capitals}({m.Value[capitals.Length..]})?";
            }).Replace("~", "?", StringComparison.Ordinal);
        return new Regex($"^{pattern}$", RegexOptions.IgnoreCase);
    }

    private static string Short(string header) => Mnemonic().Replace(
        Regex.Replace(header, @"\[.*\]", ""), m => string.Concat(m.Value.TakeWhile(char.IsUpper)));

    [GeneratedRegex("[A-Z]+[a-z]*")]
    private static partial Regex Mnemonic();
}
