// hourhinge calibrate stars RIG DIR: star frames to rate correction, periodic error and axis error.

using System.CommandLine;
using Hourhinge.App.Common;
using Hourhinge.Calibration;
using Hourhinge.Calibration.Orientation;
using Hourhinge.Calibration.Readings;
using Hourhinge.Calibration.Stars;
using Hourhinge.Frames.Matching;
using Hourhinge.Frames.Reading;
using Hourhinge.Numerics;
using Hourhinge.Rig;
using Hourhinge.Sky.Observing;
using Hourhinge.Sky.Places;
using static Hourhinge.App.Common.ConsoleOutput;

namespace Hourhinge.App.Calibrate;

internal static class CalibrateCommandStars
{
    public static Command Create()
    {
        var output = new CalibrateOutput();
        Argument<FileInfo> rig = SharedOptions.RigFile();
        var folder = new Argument<DirectoryInfo>("DIR")
        { Description = "Frames with the drive on (or a folder with tracked/ and stopped/ in it)." };
        var stopped = new Option<DirectoryInfo?>("--stopped")
        {
            Description =
            "Frames with the drive stopped; default is the folder stopped/ in or beside DIR.",
            HelpName = "DIR"
        };
        var targetName = new Option<string?>("--target")
        {
            Description =
                "Only for frames that are not recognised: what stood in their middle, M31, Vega, or RA,DEC in degrees. "
                + "Needs true times in the files.",
            HelpName = "NAME"
        };
        Option<double?> declination =
            Quantity.Optional("--dec", -85, 85, "deg", "The same: declination of the frame's middle");
        Option<double?> hourAngle = Quantity.Optional("--hour-angle", -12, 12, "h",
            "With --dec: its hour angle at the first frame, west positive");
        var second =
            new Option<string?>("--second")
            {
                Description =
                "A second field: DIR, or DIR,TARGET or DIR,DECLINATION,HOUR-ANGLE where it is not recognised. "
                + "Settles the "
                + "direction of the axis that one field leaves open.",
                HelpName = "FIELD"
            };
        Option<double?> zone = Quantity.Optional("--utc-offset", -14, 14, "h",
            "Zone of the camera's clock, east positive, where the files do not name it");
        Option<double> began =
            Quantity.Option("--began", 0, 720, 0, "min", "Minutes into the travel at the start of the first frame");
        Option<double> offset =
            Quantity.Option("--clock-offset", -86400, 86400, 0, "s", "How far the camera's clock is fast");
        Option<double?> exposure =
            Quantity.Optional("--exposure", 0.1, 7200, "s",
                "True exposure with the drive on, where the files do not tell it");
        Option<double?> stoppedExposure =
            Quantity.Optional("--stopped-exposure", 0.1, 7200, "s", "The same for the frames with the drive stopped");
        Option<double> pointing = Quantity.Option("--pointing-error", 0.01, 10, 0.5, "deg",
            "How well the frame's middle is known where it is told (standard error)");
        var mirrored = new Option<bool>("--mirrored")
        {
            Description =
            "Only for frames that are not recognised: the pictures are mirror images (rows stored from the bottom, "
            + "or an "
            + "odd number of mirrors)."
        };
        var airless = new Option<bool>("--no-refraction")
        { Description = "Leave refraction in the result instead of taking it out." };
        var quick = new Option<bool>("--quick")
        { Description = "The first, the last and a middle frame only: an answer in seconds, for the field." };
        var command =
            new Command("stars", "From star frames: the drive's rate, its periodic error, and where the axis points.")
        {
            rig, folder, stopped, targetName, declination, hourAngle, second, began, offset, zone, exposure,
            stoppedExposure, pointing, mirrored, airless, quick,
        };
        output.AddTo(command);
        command.SetAction(parsed =>
        {
            if (parsed.GetValue(quick) && (output.Writes(parsed) || parsed.GetValue(second) != null))
            {
                throw new InputException(
                    "--quick: two frames are too few to --write, and a --second field is not looked at; leave "
                    + "--quick out for that.");
            }

            FieldTarget? target =
                FieldAim.Of(parsed.GetValue(targetName), parsed.GetValue(declination), parsed.GetValue(hourAngle));
            LoadedRig loaded = LoadedRig.From(parsed.GetRequiredValue(rig));
            SiteData site = loaded.Rig.Site
                ?? throw new InputException(
                    $"{loaded.Path}: the stars need the table [site] with latitude_deg, -90 to 90.");
            var overrides = new FrameOverrides(parsed.GetValue(offset), parsed.GetValue(exposure),
                parsed.GetValue(zone) is { } h ? TimeSpan.FromHours(h) : null);
            var session = new StarSession(
                loaded.Rig, loaded.Drive.Design, site,
                new StarSessionOptions(overrides, parsed.GetValue(stoppedExposure), parsed.GetValue(mirrored),
                    parsed.GetValue(airless),
                    Angle.FromDegrees(parsed.GetValue(pointing))),
                (files, what, corrections) => ReadFrames(files, what, corrections, output.IsNight(parsed)));
            DirectoryInfo frames = parsed.GetRequiredValue(folder);
            DirectoryInfo still = parsed.GetValue(stopped) ?? StarSession.StoppedBeside(frames);
            try
            {
                StarSession.CheckExists(frames, "with the drive on");
                var stamp = ReadingsStamp.OfFolder(StarSession.Tracked(frames));
                if (!parsed.GetValue(quick))
                {
                    DriveState.Check(loaded.Rig, "stars", stamp);
                }

                session.ReadStopped(still);
                session.ReadField(StarSession.Tracked(frames), target, parsed.GetValue(quick));
                if (session.Standing is { } standing)
                {
                    return Stopped(parsed, output, loaded, session, standing);
                }

                if (parsed.GetValue(quick))
                {
                    var answer = new QuickPage(loaded.Rig.Name, session.Quick(), session.Notes, session.Remarks);
                    return output.Finish(parsed, loaded.Path, answer.Answer.Drive.Assessment, [], answer.Write,
                        answer.Print);
                }

                if (parsed.GetValue(second) is { } text)
                {
                    ReadSecond(session, text, still);
                }

                StarResult result = session.Solve();
                StarCorrections corrections = session.Corrections(result, parsed.GetValue(began) * 60);
                bool isByClock = session.Recognised != null || target?.Place != null;
                var page = new StarPage(loaded.Rig, result, corrections, Places(session, site, isByClock),
                    session.Notes, session.Remarks, $"± {Number(parsed.GetValue(pointing), 2)}°", session.Recognised,
                    stamp);
                return output.Finish(parsed, loaded.Path, new CalibrationAssessment(result.Reasons), page.Changes(),
                    page.Write, page.Print);
            }
            catch (MeasurementException e)
            {
                throw new InputException(e.Message);
            }
        });
        return command;
    }

    private static int Stopped(ParseResult parsed, CalibrateOutput output, LoadedRig loaded, StarSession session,
        StandingCamera standing)
    {
        var page = new StandingPage(loaded.Rig.Name, standing, session.Recognised!, session.FocalLengthPx!.Value,
            session.Notes);
        return output.Finish(parsed, loaded.Path, new CalibrationAssessment([page.Reason]), [], page.Write, page.Print);
    }

    private static void ReadSecond(StarSession session, string text, DirectoryInfo firstStopped)
    {
        (DirectoryInfo folder, FieldTarget? target) = FieldAim.OfSecond(text);
        DirectoryInfo stopped = StarSession.StoppedBeside(folder);
        bool own = stopped.Exists && stopped.FullName != firstStopped.FullName;
        if (!own && target is not null)
        {
            throw new InputException(
                $"--second {folder}: the camera was turned to this field, so it needs frames with the drive "
                + $"stopped of its own, in {Path.Combine(folder.ToString(), "stopped")} (one will do).");
        }

        session.ReadStopped(own ? stopped : new DirectoryInfo(Path.Combine(folder.FullName, "stopped")));
        session.ReadField(StarSession.Tracked(folder), target, false);
        if (session.Standing is not null)
        {
            throw new InputException(
                $"--second {folder}: its frames stand still against the ground: the drive was stopped.");
        }
    }

    private static string[] Places(StarSession session, SiteData site, bool isByClock) =>
        [.. session.Places.Select((field, i) =>
    {
        HourAngleDeclination place = field.Place;
        double altitude =
            Horizon.FromHourAngle(place, Angle.FromDegrees(site.LatitudeDeg)).Altitude.Degrees;
        return $"Field {i + 1}: declination {Number(place.Declination.Degrees, 1)}°, hour angle "
            + $"{Number(place.HourAngle.WrappedSigned().Degrees / 15, 2)} h, {Number(altitude, 0)}° up when its first "
            + (isByClock ? $"frame was taken, at {field.FirstUtc:yyyy-MM-dd HH:mm} UTC by its file. A clock that is an "
                + "hour off turns the direction of the axis error by 15°." : "frame was taken.");
    })];

    private static RunRead ReadFrames(IReadOnlyList<string> files, string what, FrameOverrides overrides, bool night) =>
        ProgressBar.Run($"reading frames {what}", files.Count, night,
            progress => RunRead.Of(files, overrides, progress: p => progress(p.Done)));
}
