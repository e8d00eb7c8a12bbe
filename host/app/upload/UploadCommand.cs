// hourhinge upload RIG --to PORT: compile, measure against the closed form, send, read back, compare byte for byte.

using System.CommandLine;
using Hourhinge.App.Common;
using Hourhinge.App.Link;
using Hourhinge.Rig;

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

        if (RigDrive.TooSlow(loaded.Rig.Motor.Dc, loaded.Drive.Design) is { } slow)
        {
            ConsoleOutput.WriteRemark(slow);
        }

        (HeldProfile held, string controller) = SendAndReadBack(loaded, port);
        bool same = held.Is(loaded.Drive.Bytes, loaded.File);
        if (json)
        {
            ConsoleOutput.WriteJson(w =>
            {
                w.WriteString("rig", loaded.Rig.Name);
                w.WriteString("controller", controller);
                w.Number("closed_form_worst_counts", accuracy.WorstCounts, 6);
                w.Number("closed_form_worst_arcsec", accuracy.WorstArcsec, 6);
                w.Number("closed_form_bound_counts", accuracy.BoundCounts, 6);
                w.WriteNumber("profile_bytes", held.Profile.Length);
                w.WriteNumber("rig_file_bytes", held.RigFile.Length);
                w.WriteString("crc32", $"{held.Crc:X8}");
                w.WriteNumber("slot", held.Slot);
                w.WriteNumber("sequence", held.Sequence);
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
                $"{loaded.Rig.Name} is on the controller: {held.Profile.Length} bytes read back and equal, CRC-32 "
                + $"{held.Crc:X8}, slot {held.Slot}, upload number {held.Sequence}.");
        }

        if (!same)
        {
            ConsoleOutput.WriteError("the controller returned other bytes than were sent; upload again.");
        }

        return same ? ExitCode.Done : ExitCode.AnswerIsNo;
    }

    // After a failure the controller is asked what it holds: nothing is claimed that was not read back.
    private static (HeldProfile Held, string Controller) SendAndReadBack(LoadedRig loaded, string port)
    {
        HeldProfile before;
        string controller;
        try
        {
            using ControllerLink link = ControllerLink.Open(port);
            controller = link.Identity;
            string state = link.Query("MOTion:STATe?");
            if (state is "TRACKING" or "REWINDING" or "JOGGING")
            {
                throw new DeviceException(
                    $"the controller is {state.ToLowerInvariant()}; stop it first: hourhinge device stop --to {port}");
            }

            before = HeldProfile.Read(link);
            try
            {
                link.CommandBlock("RIG:DATA", loaded.File, "the rig file");
                link.CommandBlock("PROFile:DATA", loaded.Drive.Bytes, "the profile");
                return (HeldProfile.Read(link), controller);
            }
            catch (DeviceException e)
            {
                link.Dispose();
                HeldProfile? now = HeldProfile.ReadAgain(port);
                if (e is LinkLostException && now != null && now.Is(loaded.Drive.Bytes, loaded.File))
                {
                    ConsoleOutput.WriteRemark($"{e.Message} Read back over a new connection.");
                    return (now, controller);
                }

                throw new DeviceException($"{e.Message.TrimEnd('.')}. "
                    + HeldProfile.Sentence(now, before, loaded.Drive.Bytes, loaded.File, port));
            }
        }
        catch (LinkLostException e)
        {
            throw new DeviceException($"{e.Message} Nothing was sent.");
        }
    }
}
