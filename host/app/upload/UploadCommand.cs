// hourhinge upload RIG --to PORT: compile, send, read back, compare byte for byte.

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
            "Put a rig's drive profile on the controller and prove that it is there.") { rig, to, json };
        command.SetAction(parsed =>
            Upload(LoadedRig.From(parsed.GetRequiredValue(rig)), parsed.GetRequiredValue(to), parsed.GetValue(json)));
        return command;
    }

    private static int Upload(LoadedRig loaded, string port, bool json)
    {
        using ControllerLink link = ControllerLink.Open(port);
        string state = link.Ask("MOTion:STATe?");
        if (state is "TRACKING" or "REWINDING" or "JOGGING")
        {
            throw new DeviceException(
                $"the controller is {state.ToLowerInvariant()}; stop it first: hourhinge device stop --to {port}");
        }

        link.SendBlock("RIG:DATA", loaded.File);
        link.ThrowIfError("the rig file");
        link.SendBlock("PROFile:DATA", loaded.Drive.Bytes);
        link.ThrowIfError("the profile");

        byte[] profile = link.AskBlock("PROFile:DATA?");
        byte[] rigFile = link.AskBlock("RIG:DATA?");
        string[] slot = link.Ask("PROFile:SLOT?").Split(',');
        bool same = profile.AsSpan().SequenceEqual(loaded.Drive.Bytes) && rigFile.AsSpan().SequenceEqual(loaded.File);
        // The profile ends with the CRC-32 of all that stands before it.
        uint crc = Crc32.HashToUInt32(profile.AsSpan(0, Math.Max(0, profile.Length - 4)));
        same &= link.Ask("PROFile:CRC?") == crc.ToString(CultureInfo.InvariantCulture);
        if (json)
        {
            ConsoleOutput.Json(w =>
            {
                w.WriteString("rig", loaded.Rig.Name);
                w.WriteString("controller", link.Identity);
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
            Console.WriteLine(
                $"{loaded.Rig.Name} is on the controller: {profile.Length} bytes read back and equal, CRC-32 "
                + $"{crc:X8}, slot {slot[0]}, upload number {slot[1]}.");
        }

        if (!same)
        {
            ConsoleOutput.Error("what the controller holds is not what was sent; upload again.");
        }

        return same ? ExitCode.Done : ExitCode.AnswerIsNo;
    }
}
