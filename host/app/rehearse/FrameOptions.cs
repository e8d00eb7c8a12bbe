// Options of `rehearse --frames`: the frames of the rehearsed camera, and the true direction of the axis.

using System.CommandLine;
using Hourhinge.App.Common;
using Hourhinge.Rig;

namespace Hourhinge.App.Rehearse;

/// <summary>Frames to take in a rehearsal.</summary>
internal sealed record FrameRequest(
    DirectoryInfo Folder,
    string Format,
    int Count,
    int StoppedCount,
    double ExposureSec,
    double GapSec,
    double FocalMm,
    double DeclinationDeg,
    double HourAngleHours,
    double RollDeg,
    double AxisAltitudeArcmin,
    double AxisAzimuthArcmin,
    bool WholeSecondStamps,
    int Seed)
{
    private const double MarginSec = 5;

    /// <summary>Minutes of tracking that the frames take.</summary>
    public double NeededMinutes => ((Count * (ExposureSec + GapSec)) + MarginSec) / 60;

    /// <summary>Rejects frames that the travel has no time for: after its end the hinge stands.</summary>
    public void CheckTravel(double travelSec)
    {
        if (NeededMinutes * 60 > travelSec)
        {
            int most = (int)Math.Max(0, (travelSec - MarginSec) / (ExposureSec + GapSec));
            throw new InputException($"--count {Count}: {Count} frames of {ExposureSec:0.###} s with a gap of "
                + $"{GapSec:0.###} s take {NeededMinutes:0.0} min, and the travel has {travelSec / 60:0.0}: "
                + (most > 0 ? $"at most {most}." : "not one fits; take a shorter --exposure."));
        }
    }
}

/// <summary>Declares the options once and reads them.</summary>
internal sealed class FrameOptions
{
    private readonly Option<DirectoryInfo?> _folder = new("--frames")
    {
        Description =
        "Also take star frames of the rehearsal into DIR (DIR/tracked and DIR/stopped).",
        HelpName = "DIR"
    };
    private readonly Option<string> _format =
        new("--format") { Description = "With --frames: fits, tiff, jpeg or png.", DefaultValueFactory = _ => "fits" };
    private readonly Option<int> _count =
        Quantity.Integer("--count", 1, 2000, 40, "frames", "With --frames: how many with the drive on");
    private readonly Option<int> _stopped =
        Quantity.Integer("--stopped-count", 0, 100, 3, "frames", "With --frames: how many with the drive stopped");
    private readonly Option<double> _exposure =
        Quantity.Option("--exposure", 0.1, 3600, 30, "s", "With --frames: exposure");
    private readonly Option<double> _gap =
        Quantity.Option("--gap", 0, 600, 5, "s", "With --frames: between two frames");
    private readonly Option<double> _declination =
        Quantity.Option("--dec", -85, 85, 40, "deg", "With --frames: camera's declination");
    private readonly Option<double> _hourAngle =
        Quantity.Option("--hour-angle", -12, 12, 0, "h", "With --frames: camera's hour angle at the start");
    private readonly Option<double> _roll =
        Quantity.Option("--roll", -180, 180, 12, "deg", "With --frames: camera's roll");
    private readonly Option<double> _axisAltitude =
        Quantity.Option("--axis-altitude", -600, 600, 0, "arcmin", "Fault: axis too high");
    private readonly Option<double> _axisAzimuth =
        Quantity.Option("--axis-azimuth", -600, 600, 0, "arcmin", "Fault: axis too far clockwise in azimuth");
    private readonly Option<bool> _wholeSeconds = new("--whole-second-stamps")
    { Description = "With --frames: time stamps to whole seconds, as most cameras write them." };
    private readonly Option<int> _seed =
        Quantity.Integer("--seed", 0, 1_000_000_000, 1, "seed", "Seed of stars and noise");

    private Option[] All => [_folder, _format, _count, _stopped, _exposure, _gap, _declination, _hourAngle, _roll,
        _axisAltitude, _axisAzimuth, _wholeSeconds, _seed];

    /// <summary>Adds the options to the command.</summary>
    public void AddTo(Command command)
    {
        _format.AcceptOnlyFromAmong("fits", "tiff", "jpeg", "png");
        foreach (Option option in All)
        {
            command.Options.Add(option);
        }

        command.Need(_folder, _format, _count, _stopped, _exposure, _gap, _declination, _hourAngle, _roll,
            _axisAltitude, _axisAzimuth, _wholeSeconds, _seed);
    }

    /// <summary>The request, or null without --frames.</summary>
    public FrameRequest? Read(ParseResult parsed, RigDescription rig)
    {
        if (parsed.GetValue(_folder) is not { } folder)
        {
            return Array.Find(All, o => parsed.GetResult(o) is { Implicit: false }) is { } idle
                ? throw new InputException($"{idle.Name}: has no effect without --frames DIR; omit it, or name DIR.")
                : null;
        }

        if (rig.Camera == null || rig.Site == null)
        {
            throw new InputException("--frames: the rig file needs the tables [camera] and [site].");
        }

        AtomicFile.CheckNewFolder(folder, "--frames");
        double? lens = parsed.GetValue<double?>("--lens");
        return new FrameRequest(
            folder,
            parsed.GetRequiredValue(_format),
            parsed.GetValue(_count),
            parsed.GetValue(_stopped),
            parsed.GetValue(_exposure),
            parsed.GetValue(_gap),
            LensScale.Of(rig, lens)!.FocalMm,
            parsed.GetValue(_declination),
            parsed.GetValue(_hourAngle),
            parsed.GetValue(_roll),
            parsed.GetValue(_axisAltitude),
            parsed.GetValue(_axisAzimuth),
            parsed.GetValue(_wholeSeconds),
            parsed.GetValue(_seed));
    }
}
