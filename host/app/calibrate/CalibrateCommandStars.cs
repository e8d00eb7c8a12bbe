// hourhinge calibrate stars RIG DIR: star frames to rate correction, periodic error and axis error.

using System.CommandLine;
using Hourhinge.App.Common;
using Hourhinge.Calibration;
using Hourhinge.Calibration.Stars;
using Hourhinge.Frames.Matching;
using Hourhinge.Frames.Reading;
using Hourhinge.Numerics;
using Hourhinge.Rig;
using Hourhinge.Sky.Observing;
using Hourhinge.Sky.Places;
using Spectre.Console;
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
        var target = new Option<string?>("--target")
        {
            Description =
                "What stood in the frame's middle: M31, Vega, or RA,DEC in degrees. Needs true times in the files.",
            HelpName = "NAME"
        };
        Option<double?> declination =
            Quantity.Optional("--dec", -85, 85, "deg", "Without --target: declination of the frame's middle");
        Option<double?> hourAngle = Quantity.Optional("--hour-angle", -12, 12, "h",
            "Without --target: its hour angle at the first frame, west positive");
        var second =
            new Option<string?>("--second")
            {
                Description =
                "A second field: DIR,TARGET or DIR,DECLINATION,HOUR-ANGLE. Settles the direction of the axis that "
                + "one field leaves open.",
                HelpName = "FIELD"
            };
        Option<double?> zone = Quantity.Optional("--utc-offset", -14, 14, "h",
            "Zone of the camera's clock, east positive, where the files do not name it");
        Option<double> began =
            Quantity.Option("--began", 0, 720, 0, "min", "Minutes into the travel at the start of the first frame");
        Option<double> offset =
            Quantity.Option("--clock-offset", -86400, 86400, 0, "s", "How far the camera's clock is fast");
        Option<double?> exposure =
            Quantity.Optional("--exposure", 0.1, 7200, "s", "True exposure, where the files do not tell it");
        Option<double> pointing = Quantity.Option("--pointing-error", 0.01, 10, 0.5, "deg",
            "How well the frame's middle is known (standard error)");
        var mirrored = new Option<bool>("--mirrored")
        {
            Description =
            "The pictures are mirror images (rows stored from the bottom, or an odd number of mirrors)."
        };
        var airless = new Option<bool>("--no-refraction")
        { Description = "Leave refraction in the result instead of taking it out." };
        var quick = new Option<bool>("--quick")
        { Description = "The first and the last frame only: an answer in seconds, for the field." };
        var command =
            new Command("stars", "From star frames: the drive's rate, its periodic error, and where the axis points.")
        {
            rig, folder, stopped, target, declination, hourAngle, second, began, offset, zone, exposure, pointing,
            mirrored, airless, quick,
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

            FieldAim aim =
                FieldAim.Of(parsed.GetValue(target), parsed.GetValue(declination), parsed.GetValue(hourAngle));
            LoadedRig loaded = LoadedRig.From(parsed.GetRequiredValue(rig));
            SiteData site = loaded.Rig.Site
                ?? throw new InputException(
                    $"{loaded.Path}: the stars need the table [site] with latitude_deg, -90 to 90.");
            var overrides = new FrameOverrides(parsed.GetValue(offset), parsed.GetValue(exposure),
                parsed.GetValue(zone) is { } h ? TimeSpan.FromHours(h) : null);
            var job = new StarJob(
                loaded, site, overrides, parsed.GetValue(mirrored), parsed.GetValue(airless),
                Angle.FromDegrees(parsed.GetValue(pointing)));
            DirectoryInfo frames = parsed.GetRequiredValue(folder);
            StarJob.MustExist(frames, "with the drive on");
            job.ReadStopped(parsed.GetValue(stopped) ?? StarJob.StoppedBeside(frames), aim);
            job.ReadField(StarJob.Tracked(frames), aim, parsed.GetValue(quick));
            if (parsed.GetValue(quick))
            {
                var answer = new QuickPage(loaded.Rig.Name, job.Quick(), job.Notes);
                return output.Finish(parsed, loaded.Path,
                    new CalibrationAssessment(answer.Answer.Drive.Assessment.Reasons), [], answer.Write, answer.Print);
            }

            if (parsed.GetValue(second) is { } text)
            {
                (DirectoryInfo other, FieldAim otherAim) = FieldAim.OfSecond(text);
                DirectoryInfo stood = StarJob.StoppedBeside(other);
                if (!stood.Exists
                    || stood.FullName == (parsed.GetValue(stopped) ?? StarJob.StoppedBeside(frames)).FullName)
                {
                    throw new InputException(
                        $"--second {other}: the camera was turned to this field, so it needs frames with the drive "
                        + $"stopped of its own, in {Path.Combine(other.ToString(), "stopped")} (one will do).");
                }

                job.ReadStopped(stood, otherAim);
                job.ReadField(StarJob.Tracked(other), otherAim, false);
            }

            StarResult result = job.Solve();
            double firstMidSec = (parsed.GetValue(began) * 60) + job.FirstFrameLateSec + (result.ExposureSec / 2);
            var page = new StarPage(loaded, result, [.. job.Places], job.Notes, firstMidSec);
            var verdict = new CalibrationAssessment(result.Reasons);
            return output.Finish(parsed, loaded.Path, verdict, page.Changes(), page.Write, page.Print);
        });
        return command;
    }
}

/// <summary>Reads the frames of one calibration and fits them.</summary>
internal sealed class StarJob(LoadedRig loaded, SiteData site, FrameOverrides overrides, bool mirrored, bool airless,
    Angle pointingSigma)
{
    private readonly List<CalibrationField> _fields = [];
    private StoppedResult? _sky;
    private double _exposureSec;

    /// <summary>What there is to say of single frames.</summary>
    public List<FrameNote> Notes { get; } = [];

    /// <summary>How much later than the first frame in the folder the first usable one began, s.</summary>
    public double FirstFrameLateSec { get; private set; }

    /// <summary>Refuses a folder that is not there.</summary>
    public static void MustExist(DirectoryInfo folder, string what)
    {
        if (!folder.Exists)
        {
            throw new InputException($"{folder}: there is no such folder of frames {what}.");
        }
    }

    /// <summary>The folder of frames with the drive on.</summary>
    public static DirectoryInfo Tracked(DirectoryInfo given)
    {
        var inside = new DirectoryInfo(Path.Combine(given.FullName, "tracked"));
        return inside.Exists ? inside : given;
    }

    /// <summary>The folder of frames with the drive stopped that belongs to a folder.</summary>
    public static DirectoryInfo StoppedBeside(DirectoryInfo given)
    {
        var inside = new DirectoryInfo(Path.Combine(given.FullName, "stopped"));
        return inside.Exists || given.Parent == null
            ? inside
            : new DirectoryInfo(Path.Combine(given.Parent.FullName, "stopped"));
    }

    /// <summary>Direction and scale of the sky from the frames with the drive stopped.</summary>
    public void ReadStopped(DirectoryInfo folder, FieldAim aim)
    {
        List<RunFrame> frames = Read(folder, "with the drive stopped", false);
        // Where a target is named but no time is in the files, its place of today is near enough for the trails.
        DateTime when = frames.Select(f => f.Info.MidUtc).FirstOrDefault(t => t != null) ?? DateTime.UtcNow;
        _sky = StoppedRun.Of(frames, aim.Declination(when).Radians, mirrored)
            ?? throw new InputException(
                $"{folder}: no trails found in the frames with the drive stopped; at least one must show 3 trails, "
                + "and its file must tell the exposure (or --exposure).");
    }

    /// <summary>One field with the drive on.</summary>
    public void ReadField(DirectoryInfo folder, FieldAim aim, bool endsOnly)
    {
        List<RunFrame> frames = Read(folder, "with the drive on", endsOnly);
        RunAlignment run = RunAlignment.Of(frames, _sky!.Sky.FocalLengthPx);
        Notes.AddRange(run.Notes);
        if (run.Frames.Count < (endsOnly ? 2 : 4))
        {
            string reasons =
                string.Join(" ", run.Notes.Where(n => n.LeftOut).Take(3).Select(n => $"{n.Name} {n.Reason}"));
            throw new InputException(
                $"{folder}: only {run.Frames.Count} of {frames.Count} frames can be used; at least "
                + $"{(endsOnly ? 2 : 4)} are needed. {reasons}".TrimEnd());
        }

        double late = run.FirstLateSeconds;
        if (_fields.Count == 0)
        {
            FirstFrameLateSec = late;
            _exposureSec = run.Frames[0].Info.ExposureSeconds
                ?? throw new InputException(
                    $"{folder}: the files do not tell the exposure; give it with --exposure, 0.1 to 7200 s.");
        }

        DateTime mid = run.Frames[0].Info.MidUtc!.Value;
        Angle declination = aim.Declination(mid);
        Angle hourAngle = aim.HourAngle(mid, site, late + (_exposureSec / 2));
        Angle during = new(Horizon.RotationRadPerSecond * (run.Frames[^1].Info.MidUtc!.Value - mid).TotalSeconds);
        aim.CheckAltitude(declination, hourAngle, site);
        aim.CheckAltitude(declination, hourAngle + during, site);
        _fields.Add(new CalibrationField(run, _sky, declination, hourAngle));
    }

    /// <summary>Where the fields were taken to be, for the user to check.</summary>
    public IEnumerable<string> Places => _fields.Select((f, i) =>
    {
        double altitude = Horizon.FromHourAngle(new HourAngleDeclination(f.HourAngle, f.Declination),
            Angle.FromDegrees(site.LatitudeDeg)).Altitude.Degrees;
        return $"Field {i + 1}: declination {Number(f.Declination.Degrees, 1)}°, hour angle "
            + $"{Number(f.HourAngle.WrappedSigned().Degrees / 15, 2)} h, {Number(altitude, 0)}° up when its first "
            + "frame was taken.";
    });

    /// <summary>The whole fit.</summary>
    public StarResult Solve() => StarCalibration.Solve(
        _fields,
        new StarConditions(
            Angle.FromDegrees(site.LatitudeDeg),
            airless ? Air.None : Air.AtHeight(site.HeightM),
            _exposureSec,
            60 / loaded.Drive.Design.NutTurnsPerMinuteAt(0),
            pointingSigma))
        ?? throw new InputException("The frames do not determine the drive: take more of them, over a longer time.");

    /// <summary>The answer from the first and the last frame.</summary>
    public QuickStars Quick()
    {
        CalibrationField field = _fields[0];
        AlignedFrame first = field.Run.Frames[0];
        AlignedFrame last = field.Run.Frames[^1];
        FieldMotion motion = last.Motion.ShiftXPx != 0 || last.Motion.RotationRad != 0
            ? last.Motion
            : first.Motion with
            {
                ShiftXPx = -first.Motion.ShiftXPx,
                ShiftYPx = -first.Motion.ShiftYPx,
                RotationRad = -first.Motion.RotationRad
            };
        double seconds = (last.Info.MidUtc!.Value - first.Info.MidUtc!.Value).TotalSeconds;
        if (seconds < 20)
        {
            throw new InputException(
                $"--quick: the two frames are {seconds:0} s apart; they must be 20 s or more apart.");
        }

        double stamp = last.Info.StampResolutionSeconds >= 1 ? 0.41 : 0.01;
        // Two frames meet the thread's error at any two places: what it may be where the rig file does not correct it.
        double periodicArcsec = loaded.Rig.Periodic.Count > 0 ? 2 : 10;
        QuickAnswer answer =
            QuickLook.Solve(motion, seconds, stamp, _sky!.Sky, field.Declination.Radians, periodicArcsec);
        double hourAngle = field.HourAngle.Radians + (Horizon.RotationRadPerSecond * seconds / 2);
        var axis = new FieldAxis(answer.AxisTowardFieldDegrees.Times(60), answer.AxisEastOfFieldDegrees.Times(60), 0,
            hourAngle);
        return new QuickStars(answer, AxisError.Of([axis], site.LatitudeDeg * Math.PI / 180), seconds);
    }

    private List<RunFrame> Read(DirectoryInfo folder, string what, bool endsOnly)
    {
        MustExist(folder, what);
        IReadOnlyList<string> files = FrameReader.FindFrames(folder.FullName);
        if (files.Count == 0)
        {
            throw new InputException($"{folder}: no frames {what} in it; known are JPEG, PNG, TIFF and FITS files.");
        }

        files = endsOnly ? [files[0], files[^1]] : files;
        RunRead? read = null;
        if (Console.IsErrorRedirected)
        {
            read = RunRead.Of(files, overrides);
        }
        else
        {
            IAnsiConsole bar =
                AnsiConsole.Create(new AnsiConsoleSettings { Out = new AnsiConsoleOutput(Console.Error) });
            bar.Progress().AutoClear(true).Start(context =>
            {
                ProgressTask task = context.AddTask($"reading frames {what}", maxValue: files.Count);
                read = RunRead.Of(files, overrides, progress: p => task.Value = p.Done);
            });
        }

        Notes.AddRange(read!.Unreadable);
        return [.. read.Frames];
    }
}
