// hourhinge frames DIR: which frames to stack, which to inspect, which to omit, and why. Measuring and grading:
// host/frames/grading; tables and list: FramesPage.cs; contact picture: ContactPicture.cs.

using System.CommandLine;
using Hourhinge.App.Common;
using Hourhinge.Frames.Grading;
using Hourhinge.Frames.Reading;
using Hourhinge.Rig;
using static Hourhinge.App.Common.ConsoleOutput;

namespace Hourhinge.App.Frames;

internal static class FramesCommand
{
    /// <summary>File inside the folder that stores the measures.</summary>
    public const string StateName = ".hourhinge-frames.jsonl";

    // Files round an exposure: 32 s is named 30.
    private const double SameExposure = 1.15;

    public static Command Create()
    {
        var folder = new Argument<DirectoryInfo>("DIR")
        {
            Description = "Folder of frames: JPEG, PNG, TIFF, FITS or raw files.",
        };
        var rig = new Option<FileInfo?>("--rig")
        {
            Description = "Rig file: its camera and lenses tell where the sky moves on the picture, and how fast.",
            HelpName = "RIG",
        };
        Option<double?> sky = Quantity.Optional("--sky-angle", -360, 360, "deg",
            "Direction of the sky's own motion on the picture, from right towards down: says who trailed a frame");
        Option<double> offset = Quantity.Option("--clock-offset", -86400, 86400, 0, "s", "Camera's clock minus UTC");
        Option<double?> zone = Quantity.Optional("--utc-offset", -14, 14, "h",
            "Zone of the camera's clock, east positive, for files that do not name it; without it they count as UTC");
        Option<double?> exposure =
            Quantity.Optional("--exposure", 0.001, 7200, "s", "True exposure, where the files are wrong");
        Option<int> workers = Quantity.Integer("--workers", 1, 16, Math.Clamp(Environment.ProcessorCount, 1, 3),
            "frames", "Frames in work at once, up to 0.3 GB each");
        var list = new Option<FileInfo?>("--list")
        { Description = "Also write grade, name and reason into FILE, with tabs between.", HelpName = "FILE" };
        var contact = new Option<FileInfo?>("--contact")
        {
            Description =
            "Also draw all frames small, with their grades, into FILE.jpg or FILE.png.",
            HelpName = "FILE"
        };
        var state = new Option<FileInfo?>("--state")
        {
            Description =
                $"Where to store the measures, so that an interrupted run can continue; default is DIR/{StateName}.",
            HelpName = "FILE"
        };
        var forget = new Option<bool>("--no-state") { Description = "Measure all frames again and store nothing." };
        Option<FileInfo?> html = SharedOptions.Html();
        Option<bool> json = SharedOptions.Json();
        Option<bool> night = SharedOptions.Night();
        var command = new Command("frames", "Grade frames before stacking: keep, doubt or drop, and why.")
        {
            folder, rig, sky, offset, zone, exposure, workers, list, contact, state, forget, html, json, night,
        };
        command.Exclude(forget, state);
        command.SetAction((parsed, cancel) =>
        {
            FileInfo? picture = parsed.GetValue(contact);
            ContactPicture.Check(picture);
            FileInfo? report = parsed.GetValue(html);
            HtmlFile.Check(report);
            AtomicFile.Check(parsed.GetValue(list), "--list");
            AtomicFile.Check(picture, "--contact");
            DirectoryInfo dir = parsed.GetRequiredValue(folder);
            if (picture != null && Path.TrimEndingDirectorySeparator(dir.FullName) == picture.DirectoryName)
            {
                throw new InputException(
                    $"--contact {picture}: the next run would read it as a frame; name a place outside {dir}.");
            }

            RigDescription? described = parsed.GetValue(rig) is { } rigFile ? LoadedRig.From(rigFile).Rig : null;
            FrameFolder found = Files(dir);
            IReadOnlyList<string> files = found.Files;
            string? memory = parsed.GetValue(forget) ? null : parsed.GetValue(state)?.FullName
                ?? Path.Combine(dir.FullName, StateName);
            double? west = parsed.GetValue(sky) is { } deg ? deg * Math.PI / 180 : null;
            int atOnce = parsed.GetValue(workers);
            IReadOnlyList<FrameMeasures> measures;
            try
            {
                measures = Measure(files, memory, atOnce, parsed.GetValue(night), cancel);
            }
            catch (OperationCanceledException)
            {
                WriteRemark(memory == null ? "Stopped." : "Stopped; the same command continues from here.");
                return Task.FromResult(ExitCode.AnswerIsNo);
            }

            CheckExposure(parsed.GetValue(exposure), measures);
            // The state file holds the values of the files; the user's corrections are applied afterwards.
            measures = [.. measures.Select(m => m with
            {
                StartUtc = m.StartUtc?.AddSeconds(-parsed.GetValue(offset))
                    .AddHours(m.ZoneKnown ? 0 : -parsed.GetValue(zone) ?? 0),
                ExposureSeconds = parsed.GetValue(exposure) ?? m.ExposureSeconds,
            })];
            SkyOnFrames? recognised = described == null ? null : SkyOnFrames.Of(measures, described);
            var page = new FramesPage(dir.Name, FrameGrader.GradeRun(measures, west, sky: recognised?.Sky),
                west ?? recognised?.Sky.WestAngleRad, [.. SkyRemarks(described, recognised), .. found.Remarks],
                recognised);
            if (parsed.GetValue(json))
            {
                WriteJson(page.Write);
            }
            else
            {
                page.Print(new Theme(parsed.GetValue(night)));
            }

            if (parsed.GetValue(list) is { } listed)
            {
                Save(listed, "--list", System.Text.Encoding.UTF8.GetBytes(page.List()));
            }

            byte[]? drawn = picture == null ? null : ContactPicture.Draw(files, page.Frames, picture.Extension, atOnce);
            if (picture != null)
            {
                Save(picture, "--contact", drawn!);
            }

            if (report != null)
            {
                HtmlFile.Write(report,
                    FramesHtml.Page(page, drawn, ContactPicture.MediaType(picture?.Extension), parsed.GetValue(night)));
            }

            return Task.FromResult(page.Kept > 0 ? ExitCode.Done : ExitCode.AnswerIsNo);
        });
        return command;
    }

    private static FrameFolder Files(DirectoryInfo dir)
    {
        if (!dir.Exists)
        {
            throw new InputException($"{dir}: no such folder.");
        }

        FrameFolder found;
        try
        {
            found = FrameFolder.Of(dir.FullName);
        }
        catch (UnauthorizedAccessException)
        {
            throw new InputException($"{dir}: the folder may not be read.");
        }

        return found.Files.Count > 0
            ? found
            : throw new InputException(
                $"{dir}: no frames; their names must end in {string.Join(", ", FrameReader.Extensions)} or that of "
                + "a raw "
                + "file (.cr2, .nef, .arw, .dng ...).");
    }

    private static IEnumerable<string> SkyRemarks(RigDescription? rig, SkyOnFrames? recognised)
    {
        if (rig != null)
        {
            yield return recognised is { } r
                ? $"the frame {VisibleText.Of(r.Name)} is recognised: {r.ArcsecPerPx:0.00}\" a pixel; with the "
                    + "drive stopped "
                    + "the stars "
                    + $"would move by {r.Sky.StoppedPxPerSec:0.000} px/s at {r.Sky.WestAngleRad * 180 / Math.PI:0}° "
                    + "on the "
                    + "picture."
                : "no frame is recognised on the sky: who trailed a frame is not told.";
        }
    }

    // One exposure for all frames would make short ones pass for clouded ones.
    private static void CheckExposure(double? told, IReadOnlyList<FrameMeasures> frames)
    {
        double[] named = [.. frames.Select(f => f.ExposureSeconds).OfType<double>().Where(e => e > 0)];
        if (told is { } seconds && named.Length > 0 && named.Max() > SameExposure * named.Min())
        {
            throw new InputException($"--exposure {seconds}: is for frames of one exposure, and the files name "
                + $"{named.Min():0.###} to {named.Max():0.###} s; grade each exposure in a folder of its own.");
        }
    }

    private static IReadOnlyList<FrameMeasures> Measure(IReadOnlyList<string> files, string? state, int workers,
        bool night, CancellationToken cancel)
    {
        try
        {
            return ProgressBar.Run("grading", files.Count, night, show =>
                GradingRun.Measure(files, FrameOverrides.None, state, p => show(p.Done), workers, cancel));
        }
        catch (Exception e) when (e is IOException or UnauthorizedAccessException)
        {
            throw new InputException(
                $"--state {state}: cannot be written ({AtomicFile.Reason(e)}); name another file, or give "
                + "--no-state.");
        }
    }

    private static void Save(FileInfo file, string option, byte[] bytes)
    {
        AtomicFile.Write(file, option, bytes);
        WriteRemark($"Wrote {file}.");
    }
}
