// One calibration from folders of frames: reads them, places the fields on the sky and has them fitted. Not here:
// command line, printing, the fits themselves.

using Hourhinge.Calibration.Orientation;
using Hourhinge.Calibration.Readings;
using Hourhinge.Frames.Matching;
using Hourhinge.Frames.Reading;
using Hourhinge.Numerics;
using Hourhinge.Rig;
using Hourhinge.SharedMath.Compile;
using Hourhinge.Sky.Observing;
using Hourhinge.Sky.Places;

namespace Hourhinge.Calibration.Stars;

/// <summary>How the frames of a session are to be read.</summary>
/// <param name="Overrides">Corrections to times and exposure of the frames with the drive on.</param>
/// <param name="StoppedExposureSec">True exposure of the frames with the drive stopped, s; null as the files have
/// it.</param>
/// <param name="Mirrored">True for mirror images.</param>
/// <param name="IgnoresRefraction">True to leave refraction in the result.</param>
/// <param name="PointingSigma">Standard error of a field's place as given.</param>
public sealed record StarSessionOptions(
    FrameOverrides Overrides, double? StoppedExposureSec, bool Mirrored, bool IgnoresRefraction, Angle PointingSigma);

/// <summary>The result of two frames.</summary>
/// <param name="Drive">Rate and axis as the field sees them.</param>
/// <param name="Axis">The axis at the tripod.</param>
/// <param name="SpanSec">Time between the two frames.</param>
public sealed record QuickStars(QuickAnswer Drive, AxisError Axis, double SpanSec);

/// <summary>Reads the frames of one calibration and fits them.</summary>
/// <param name="rig">The rig as its file describes it.</param>
/// <param name="design">Its drive.</param>
/// <param name="site">Where it stood.</param>
/// <param name="options">How to read the frames.</param>
/// <param name="readFrames">Reads and measures frame files; the text says which frames they are.</param>
public sealed class StarSession(
    RigDescription rig, DriveDesign design, SiteData site, StarSessionOptions options,
    Func<IReadOnlyList<string>, string, FrameOverrides, RunRead> readFrames)
{
    private const int MinFrames = 4;
    private const double MinQuickSec = 20;

    // A stamp in whole seconds at both ends, uniform within ±0.5 s: √2/√12 s.
    private const double StampSigmaSec = 0.41;
    private const double FineStampSigmaSec = 0.01;

    // Two frames meet the thread's periodic error at any two phases.
    private const double PeriodicArcsec = 10;
    private const double CorrectedPeriodicArcsec = 2;

    private readonly List<CalibrationField> _fields = [];
    private List<RunFrame> _stopped = [];
    private DirectoryInfo? _stoppedFolder;
    private double _exposureSec;
    private double _exposureSigmaSec;
    private double? _stoppedMarkedSec;

    /// <summary>Notes on single frames.</summary>
    public List<FrameNote> Notes { get; } = [];

    /// <summary>The frame of the first field that was recognised, with its lens; null where it was told.</summary>
    public RecognisedFrame? Recognised { get; private set; }

    /// <summary>Focal length of a standing camera, pixels.</summary>
    public Estimate? FocalLengthPx { get; private set; }

    /// <summary>Set where a field stands still against the ground: the drive is stopped.</summary>
    public StandingCamera? Standing { get; private set; }

    /// <summary>Sentences on the run as a whole.</summary>
    public List<string> Remarks { get; } = [];

    /// <summary>How much later than the first frame in the folder the first usable one began, s.</summary>
    public double FirstFrameLateSec { get; private set; }

    /// <summary>Checks that a folder exists.</summary>
    /// <exception cref="MeasurementException">It does not.</exception>
    public static void CheckExists(DirectoryInfo folder, string what)
    {
        if (!folder.Exists)
        {
            throw new MeasurementException($"{folder}: there is no such folder of frames {what}.");
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

    /// <summary>Reads frames with the drive stopped for the fields that follow. They tell the true exposure; direction
    /// and scale only where the fields cannot be recognised. A folder that does not exist holds none.</summary>
    public void ReadStopped(DirectoryInfo folder)
    {
        _stoppedFolder = folder;
        _stopped = folder.Exists
            ? Read(folder, "with the drive stopped",
                options.Overrides with { ExposureSeconds = options.StoppedExposureSec }, false)
            : [];
        _stoppedMarkedSec = _stopped.Count > 0 ? _stopped[0].Info.ExposureSeconds : null;
    }

    private LensHint? Lens(List<RunFrame> frames) => frames.Count == 0
        ? null
        : LensHint.Of(rig, frames[0].Info, Math.Max(frames[0].Field.Width, frames[0].Field.Height));

    private Air Air => options.IgnoresRefraction ? Air.None : Air.AtHeight(site.HeightM);

    /// <summary>Reads one field with the drive on; <see cref="ReadStopped"/> comes first.</summary>
    /// <param name="folder">Its frames.</param>
    /// <param name="target">Where it is; needed only where the frames are not recognised.</param>
    /// <param name="endsOnly">True to read the first, the last and a middle frame only.</param>
    /// <exception cref="MeasurementException">Too few usable frames, no exposure, a field under the horizon, or one
    /// that is neither recognised nor told.</exception>
    public void ReadField(DirectoryInfo folder, FieldTarget? target, bool endsOnly)
    {
        int before = Notes.Count;
        List<RunFrame> frames = Read(folder, "with the drive on", options.Overrides, endsOnly);
        if (frames.Count == 0)
        {
            throw new MeasurementException($"{folder}: none of its frames can be read: "
                + string.Join(" ", Notes.Skip(before).Take(3).Select(n => $"{n.Name}: {n.Reason}")));
        }

        var recognised = RecognisedRun.Of(frames, site, Air, Lens(frames));
        if (recognised?.Standing() is { IsStopped: true } standing)
        {
            Recognised ??= recognised.Reference;
            Standing ??= standing;
            FocalLengthPx ??= recognised.FocalLengthPx;
            return;
        }

        StoppedResult sky = recognised?.OnSensor() ?? ToldSky(target, frames);
        RunAlignment Aligned(IReadOnlyList<RunFrame> some) => RunAlignment.Of(some, sky.Sky.FocalLengthPx,
            recognised is null ? null : recognised.Expected);
        IReadOnlyList<RunFrame> shown = recognised?.SkyOnly() ?? frames;
        bool hasMiddle = endsOnly && shown.Count == 3;
        RunAlignment run = Aligned(hasMiddle ? [shown[0], shown[2]] : shown);
        Notes.AddRange(run.Notes);
        int needed = endsOnly ? 2 : MinFrames;
        if (run.Frames.Count < needed)
        {
            string reasons =
                string.Join(" ", run.Notes.Where(n => n.LeftOut).Take(3).Select(n => $"{n.Name} {n.Reason}"));
            throw new MeasurementException(
                $"{folder}: only {run.Frames.Count} of {frames.Count} frames can be used; at least {needed} are "
                + $"needed. {reasons}".TrimEnd());
        }

        double late = run.FirstLateSeconds;
        if (recognised is not null)
        {
            Recognised ??= recognised.Reference;
            sky = ToldExposure(sky, recognised.Reference);
        }

        if (_fields.Count == 0)
        {
            FirstFrameLateSec = late;
            double marked = run.Frames[0].Info.ExposureSeconds
                ?? throw new MeasurementException(
                    $"{folder}: the files do not tell the exposure; give it with --exposure, 0.1 to 7200 s.");
            SetExposure(marked, sky);
        }

        DateTime mid = run.Frames[0].Info.MidUtc!.Value;
        string[] doubts = [.. FrameTimes.Doubts(run.Frames, options.Overrides.ZoneOffset is not null, site,
            recognised is not null || target?.Place is not null,
            endsOnly || options.Overrides.ExposureSeconds is not null)];
        if (DriftAssessment.TooCoarse(run.SpotVariancePx2) is { } coarse)
        {
            doubts = [.. doubts, coarse];
        }

        if (hasMiddle && FrameEnds.Uneven(run, Aligned([shown[0], shown[1]]), sky.Sky.ArcsecPerPx) is { } uneven)
        {
            doubts = [.. doubts, uneven];
        }

        sky = sky with { Assessment = new CalibrationAssessment([.. sky.Assessment.Reasons, .. doubts]) };
        CalibrationField field = recognised is not null
            ? CalibrationField.Of(recognised, sky, run)
            : new CalibrationField(run, sky, target!.Declination(mid),
                target.HourAngle(mid, site, late + (_exposureSec / 2)));
        if (recognised is not null)
        {
            Compare(target, recognised.Reference, field, mid, late);
        }

        Angle during = new(Horizon.RotationRadPerSecond * (run.Frames[^1].Info.MidUtc!.Value - mid).TotalSeconds);
        string given = recognised is null ? target!.Given : $"{folder}: the field that its frames show";
        FieldTarget.CheckAltitude(given, field.Declination, field.HourAngle, site);
        FieldTarget.CheckAltitude(given, field.Declination, field.HourAngle + during, site);
        _fields.Add(field);
    }

    // Direction and scale of a field that was told, from its stopped frames.
    private StoppedResult ToldSky(FieldTarget? target, List<RunFrame> tracked)
    {
        if (target is null)
        {
            throw new MeasurementException(
                "Where did the camera look? Its frames were not recognised on the sky ("
                + (tracked.TrueForAll(f => f.Info.MidUtc is null)
                    ? "their files do not tell the time"
                    : "too few stars")
                + "). Give --target (M31, Vega, or RA,DEC in degrees), or both --dec (-85 to 85 degrees) and "
                + "--hour-angle (-12 to 12 hours, west positive).");
        }

        CheckExists(_stoppedFolder!, "with the drive stopped; they are needed because the field was not recognised");
        // Where a target is named but no time is in the files, its place of today is near enough for the trails.
        DateTime when = _stopped.Select(f => f.Info.MidUtc).FirstOrDefault(t => t != null) ?? DateTime.UtcNow;
        var hints = new StoppedHints(options.PointingSigma.Radians, Lens(_stopped), options.StoppedExposureSec != null);
        StoppedResult sky =
            StoppedRun.Of(_stopped, target.Declination(when).Radians, options.Mirrored, hints)
            ?? throw new MeasurementException(
                $"{_stoppedFolder}: no trails found in the frames with the drive stopped; at least one must show 3 "
                + "trails, and its file must tell the exposure (or --stopped-exposure).");
        Remarks.AddRange(sky.Remarks);
        Remarks.Add(
            $"The {tracked.Count} frames were not recognised on the sky; the place is taken as told, scale and "
            + "direction "
            + "from the stopped frames.");
        return sky;
    }

    // The stopped frames of a recognised field tell how long the shutter is open.
    private StoppedResult ToldExposure(StoppedResult sky, RecognisedFrame reference)
    {
        RunFrame? middle = _stopped.Where(f => f.Info.MidUtc != null).MinBy(f => f.Info.MidUtc);
        if (middle is null || RecognisedFrame.Of(middle, site, Air, null, reference) is not { } recognised)
        {
            return sky;
        }

        var hints = new StoppedHints(recognised.CentreSigma.Radians, null, options.StoppedExposureSec != null);
        StoppedResult? found = StoppedRun.Exposure([.. _stopped.Select(reference.Undistorted)],
            recognised.Centre.Declination.Radians, recognised.OnSensor(), hints);
        Remarks.AddRange(found?.Remarks ?? []);
        return sky with
        {
            TrueExposureSec = found?.TrueExposureSec,
            Assessment = new CalibrationAssessment([.. sky.Assessment.Reasons, .. found?.Assessment.Reasons ?? []]),
        };
    }

    // What was told is not needed for a recognised field, but a contradiction is worth a sentence.
    private void Compare(FieldTarget? target, RecognisedFrame reference, CalibrationField field, DateTime mid,
        double late)
    {
        if (target is not null)
        {
            var told = new Equatorial(target.HourAngle(mid, site, late + (_exposureSec / 2)), target.Declination(mid));
            double off = told.SeparationFrom(new Equatorial(field.HourAngle, field.Declination)).Degrees;
            if (off > 3 * options.PointingSigma.Degrees)
            {
                Remarks.Add(
                    $"The frames show a field {off:0.0}° from {target.Given} (declination "
                    + $"{field.Declination.Degrees:0.0}°, "
                    + $"hour angle {field.HourAngle.Degrees / 15:0.00} h by the files' times): the recognised place "
                    + "is used. "
                    + "If only the hour angle differs, check the camera's clock and its zone (--utc-offset).");
            }
        }

        bool mirrored = reference.Field.Projection.Mirrored;
        if (mirrored || options.Mirrored)
        {
            Remarks.Add(mirrored
                ? "The pictures are mirror images."
                : "The pictures are no mirror images: --mirrored is not followed.");
        }

        if (Lens([reference.Frame])?.Doubt(reference.Field.Projection.FocalLengthPx) is { } doubt)
        {
            Remarks.Add(char.ToUpperInvariant(doubt[0]) + doubt[1..]);
        }
    }

    // The stopped frames' trails know how long the shutter is open; the same mark means the same time.
    private void SetExposure(double markedSec, StoppedResult sky)
    {
        (_exposureSec, _exposureSigmaSec) = (markedSec, 0);
        if (options.Overrides.ExposureSeconds is not null)
        {
            return;
        }

        if (sky.TrueExposureSec is { } known && _stoppedMarkedSec is { } mark
            && Math.Abs((mark / markedSec) - 1) < 0.01)
        {
            (_exposureSec, _exposureSigmaSec) = (known.Value, known.Sigma);
        }
        else if (ShutterTime.Stepped(markedSec) is { } stepped)
        {
            _exposureSigmaSec = Math.Abs(stepped - markedSec) / 2;
            if (_exposureSigmaSec > 0.01 * markedSec)
            {
                Remarks.Add(
                    $"The frames name an exposure of {markedSec:0.##} s, which many cameras hold for {stepped:0.##} s; "
                    + "the periodic error is uncertain by that. --exposure gives the true one.");
            }
        }
    }

    /// <summary>Where the fields were taken to be at their first frames, and when, for the user to check.</summary>
    public IEnumerable<(HourAngleDeclination Place, DateTime FirstUtc)> Places => _fields.Select(f =>
        (new HourAngleDeclination(f.HourAngle, f.Declination), f.Run.Frames[0].Info.StartUtc!.Value));

    /// <summary>Fits all fields.</summary>
    /// <exception cref="MeasurementException">The frames do not determine the unknowns.</exception>
    public StarResult Solve() => StarCalibration.Solve(
        _fields,
        new StarConditions(
            Angle.FromDegrees(site.LatitudeDeg),
            Air,
            new Estimate(_exposureSec, _exposureSigmaSec, 1.96 * _exposureSigmaSec),
            60 / design.NutTurnsPerMinuteAt(0),
            options.PointingSigma))
        ?? throw new MeasurementException(
            "The frames do not determine the drive: take more of them, over a longer time.");

    /// <summary>What the result changes in the rig file.</summary>
    /// <param name="result">From <see cref="Solve"/>.</param>
    /// <param name="startSec">Profile time at the start of the first frame, s.</param>
    public StarCorrections Corrections(StarResult result, double startSec) =>
        StarCorrections.Of(rig, design, result, startSec + FirstFrameLateSec + (result.ExposureSec / 2));

    /// <summary>The answer from the first and the last frame.</summary>
    /// <exception cref="MeasurementException">They are less than 20 s apart.</exception>
    public QuickStars Quick()
    {
        CalibrationField field = _fields[0];
        AlignedFrame first = field.Run.Frames[0];
        AlignedFrame last = field.Run.Frames[^1];
        double seconds = (last.Info.MidUtc!.Value - first.Info.MidUtc!.Value).TotalSeconds;
        if (seconds < MinQuickSec)
        {
            throw new MeasurementException(
                $"--quick: the two frames are {seconds:0} s apart; they must be {MinQuickSec:0} s or more apart.");
        }

        QuickAnswer answer = QuickLook.Solve(
            FrameEnds.Motion(field.Run), seconds, last.Info.StampResolutionSeconds >= 1
            ? StampSigmaSec
            : FineStampSigmaSec,
            field.Sky, field.Declination.Radians,
            (field.Recognised?.DeclinationSigma ?? options.PointingSigma).Radians,
            rig.Periodic.Count > 0 ? CorrectedPeriodicArcsec : PeriodicArcsec);
        double hourAngle = field.HourAngle.Radians + (Horizon.RotationRadPerSecond * seconds / 2);
        var axis = new FieldAxis(answer.AxisTowardFieldDegrees.Times(60), answer.AxisEastOfFieldDegrees.Times(60), 0,
            hourAngle);
        return new QuickStars(answer, AxisError.Of([axis], Angle.FromDegrees(site.LatitudeDeg).Radians), seconds);
    }

    private List<RunFrame> Read(DirectoryInfo folder, string what, FrameOverrides overrides, bool endsOnly)
    {
        CheckExists(folder, what);
        var found = FrameFolder.Of(folder.FullName);
        Remarks.AddRange(found.Remarks.Select(r => $"{folder.Parent?.Name}/{folder.Name}: {r}"));
        IReadOnlyList<string> files = found.Files;
        if (files.Count == 0)
        {
            throw new MeasurementException(
                $"{folder}: no frames {what} in it; known are JPEG, PNG, TIFF, FITS and raw files.");
        }

        RunRead read = endsOnly
            ? FrameEnds.Read(files, some => readFrames(some, what, overrides))
            : readFrames(files, what, overrides);
        Notes.AddRange(read.Unreadable);
        if (rig.Camera is { } camera && read.Frames.Count > 0
            && read.Frames[0].Info.PixelDoubt(camera.PixelUm) is { } doubt)
        {
            Remarks.Add($"{read.Frames[0].Info.Name}: {doubt}");
        }

        return [.. read.Frames];
    }
}
