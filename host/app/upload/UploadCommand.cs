// hourhinge upload RIG --to PORT: compile, measure against the closed form, send, read back, compare byte for byte.

using System.CommandLine;
using System.Globalization;
using System.IO.Hashing;
using Hourhinge.App.Common;
using Hourhinge.App.Link;

namespace Hourhinge.App.Upload;

internal static class UploadCommand
{
    public static Command Create()
    {
        Argument<FileInfo> rig = SharedOptions.RigFile();
        Option<string> to = SharedOptions.To();
        Option<bool> json = SharedOptions.Json();
        var command = new Command("upload",
            "Compile a rig's drive profile, check it against the closed form, send it to the controller and read it "
            + "back.") { rig, to, json };
        command.SetAction(parsed =>
            Upload(LoadedRig.From(parsed.GetRequiredValue(rig)), parsed.GetRequiredValue(to), parsed.GetValue(json)));
        return command;
    }

    private static int Upload(LoadedRig loaded, string port, bool json)
    {
        var accuracy = ProfileAccuracy.Measure(loaded.Drive);
        if (!accuracy.IsWithinLimit)
        {
            ConsoleOutput.WriteError(
                $"the profile differs from the closed form by {accuracy.WorstCounts:0.#####} drive counts (bound "
                + $"{accuracy.BoundCounts:0.#####}); allowed is {ProfileAccuracy.LimitCounts}. Nothing was sent.");
            return ExitCode.AnswerIsNo;
        }

        using ControllerLink link = ControllerLink.Open(port);
        string state = link.Query("MOTion:STATe?");
        if (state is "TRACKING" or "REWINDING" or "JOGGING")
        {
            throw new DeviceException(
                $"the controller is {state.ToLowerInvariant()}; stop it first: hourhinge device stop --to {port}");
        }

        link.SendBlock("RIG:DATA", loaded.File);
        link.ThrowIfError("the rig file");
        link.SendBlock("PROFile:DATA", loaded.Drive.Bytes);
        link.ThrowIfError("the profile");

        byte[] profile = link.QueryBlock("PROFile:DATA?");
        byte[] rigFile = link.QueryBlock("RIG:DATA?");
        string[] slot = link.Query("PROFile:SLOT?").Split(',');
        bool same = profile.AsSpan().SequenceEqual(loaded.Drive.Bytes) && rigFile.AsSpan().SequenceEqual(loaded.File);
        // The profile ends with the CRC-32 of all bytes before it.
        uint crc = Crc32.HashToUInt32(profile.AsSpan(0, Math.Max(0, profile.Length - 4)));
        same &= link.Query("PROFile:CRC?") == crc.ToString(CultureInfo.InvariantCulture);
        if (json)
        {
            ConsoleOutput.WriteJson(w =>
            {
                w.WriteString("rig", loaded.Rig.Name);
                w.WriteString("controller", link.Identity);
                w.Number("closed_form_worst_counts", accuracy.WorstCounts, 6);
                w.Number("closed_form_worst_arcsec", accuracy.WorstArcsec, 6);
                w.Number("closed_form_bound_counts", accuracy.BoundCounts, 6);
                w.WriteNumber("profile_bytes", profile.Length);
                w.WriteNumber("rig_file_bytes", rigFile.Length);
                w.WriteString("crc32", $"{crc:X8}");
                w.WriteNumber("slot", int.Parse(slot[0], CultureInfo.InvariantCulture));
                w.WriteNumber("sequence", long.Parse(slot[1], CultureInfo.InvariantCulture));
                w.WriteBoolean("verified", same);
            });
        }
        else if (same)
        {
            ConsoleOutput.WriteLine(
                "Before sending, measured against the closed form at every second of the travel: at worst "
                + $"{accuracy.WorstCounts:F5} drive count = {accuracy.WorstArcsec:F5} arcsec; between the seconds "
                + "below "
                + $"{accuracy.BoundCounts:F5} count (limit {ProfileAccuracy.LimitCounts}).");
            ConsoleOutput.WriteLine(
                $"{loaded.Rig.Name} is on the controller: {profile.Length} bytes read back and equal, CRC-32 "
                + $"{crc:X8}, slot {slot[0]}, upload number {slot[1]}.");
        }

        if (!same)
        {
            ConsoleOutput.WriteError("the controller returned other bytes than were sent; upload again.");
        }

        return same ? ExitCode.Done : ExitCode.AnswerIsNo;
    }
}
