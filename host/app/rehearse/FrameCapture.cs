// Writes the frames of a rehearsal: the rehearsed hinge carries a camera under a synthetic sky (host/starfield).

using Hourhinge.App.Common;
using Hourhinge.Numerics;
using Hourhinge.Rehearsal.Tracking;
using Hourhinge.Rig;
using Hourhinge.SharedMath.Geometry;
using Hourhinge.Sky.Bodies;
using Hourhinge.Sky.Observing;
using Hourhinge.Sky.Places;
using Hourhinge.Sky.Stars;
using Hourhinge.Sky.Time;
using Hourhinge.Starfield.Files;
using Hourhinge.Starfield.Scenes;
using MathNet.Numerics.Interpolation;
using static Hourhinge.App.Common.ConsoleOutput;

namespace Hourhinge.App.Rehearse;

internal static class FrameCapture
{
    private const double StarsInPicture = 1500;

    // Of fainter stars the catalogue has few.
    private const double Catalogued = 9;
    private static readonly DateTime _evening = new(2026, 11, 14, 20, 0, 0, DateTimeKind.Utc);

    // Stars are photographed with the sun below this altitude: the end of civil twilight.
    private const double HighestSunDeg = -6;

    /// <summary>Writes the stopped frames, then the tracked ones.</summary>
    public static void Write(FrameRequest request, RigDescription rig, RehearsalResult result, bool night)
    {
        IInterpolation opening = MathNet.Numerics.Interpolate.Linear(
            result.Minutes.Select(m => m * 60),
            result.InstantArcsec.Zip(result.Minutes,
                (e, m) => (result.SkyRadPerSec * m * 60) + AngleUnits.FromArcsec(e)));
        Scene Scene(HingeAngle angle, DateTime start) => new()
        {
            StartUtc = start,
            Site = new SimulatedSite(rig.Site!.LatitudeDeg, rig.Site.LongitudeDeg),
            Mount = new HingeMount(angle, request.AxisAltitudeArcmin, request.AxisAzimuthArcmin),
            Pointing = Pointing.AtHourAngle(request.HourAngleHours * 15, request.DeclinationDeg, request.RollDeg),
            Lens = LensOf(request.FocalMm, rig),
            Sensor = new Sensor(rig.Camera!.WidthPx, rig.Camera.HeightPx, rig.Camera.PixelUm),
            Stars = [],
            Refraction = new RefractionModel(Air.AtHeight(rig.Site.HeightM).PressureHpa),
            Seed = (ulong)request.Seed,
        };

        // The stopped frames come first; then the drive starts, with the camera still pointed at the same field.
        double stoppedSec = request.StoppedCount * (request.ExposureSec + request.GapSec);
        DateTime start = Evening(rig.Site!);
        Scene tracked = Scene(t => opening.Interpolate(t), start.AddSeconds(stoppedSec));
        Scene stopped = Scene(_ => 0, start);
        string[] folders = [.. Folder(request.StoppedCount, "stopped"), .. Folder(request.Count, "tracked")];
        AtomicFile.FillFolders(request.Folder, "--frames", folders, () =>
        {
            WriteRun(stopped, request, request.StoppedCount, "stopped", night);
            WriteRun(tracked, request, request.Count, "tracked", night);
        });

        IEnumerable<string> Folder(int count, string name) =>
            count > 0 ? [Path.Combine(request.Folder.FullName, name)] : [];
    }

    // The first full hour from the evening on at which it is dark at the site; in polar summer there is none.
    private static DateTime Evening(SiteData data)
    {
        var site = Site.FromDegrees(data.LatitudeDeg, data.LongitudeDeg, data.HeightM);
        return Enumerable.Range(0, 24).Select(h => (DateTime?)_evening.AddHours(h)).FirstOrDefault(utc =>
            Sun.AltAz(Instant.FromUtc(new DateTimeOffset(utc!.Value, TimeSpan.Zero)), site).Altitude.Degrees
                < HighestSunDeg) ?? _evening;
    }

    // The lens as measured, where the rig file has it.
    private static Lens LensOf(double markedMm, RigDescription rig) => rig.MeasuredLens(markedMm) is { } measured
        ? new Lens(measured.FocalLengthMm, 2.8) { MarkedFocalLengthMm = markedMm, K1 = measured.K1, K2 = measured.K2 }
        : new Lens(markedMm, 2.8);

    // The catalogue's stars, so that the frames are recognised like real ones, and invented ones too faint for it.
    private static SimulatedStar[] Stars(FrameRequest request, DateTime utc, double raDeg, double radiusDeg,
        double faintest)
    {
        Vector3 centre =
            Vector3.FromSpherical(Angle.FromDegrees(raDeg), Angle.FromDegrees(request.DeclinationDeg));
        double near = Math.Cos(AngleUnits.FromDeg(radiusDeg));
        IEnumerable<SimulatedStar> real = CatalogueField.OfDate(
            StarCatalogue.Stars.Where(s => s.Direction.Dot(centre) > near
                && s.Magnitude < Math.Max(faintest, Catalogued))
                .Select(s => (s.Direction.Longitude().Degrees, s.Direction.Latitude().Degrees, s.Magnitude)), utc);
        IEnumerable<SimulatedStar> faint = RandomField
            .Create((ulong)request.Seed, raDeg, request.DeclinationDeg, radiusDeg, faintest)
            .Where(s => s.Magnitude > Catalogued);
        return [.. real, .. faint];
    }

    private static void WriteRun(Scene scene, FrameRequest request, int count, string name,
        bool night)
    {
        if (count == 0)
        {
            return;
        }

        double width = scene.Sensor.WidthPx * scene.Sensor.PixelPitchMicrometres / 1000 / scene.Lens.FocalLengthMm;
        double height = scene.Sensor.HeightPx * scene.Sensor.PixelPitchMicrometres / 1000 / scene.Lens.FocalLengthMm;
        double squareDegrees = AngleUnits.ToDeg(width) * AngleUnits.ToDeg(height);
        double radius = (AngleUnits.ToDeg(Math.Sqrt((width * width) + (height * height))) / 2)
            + (15 * count * (request.ExposureSec + request.GapSec) / 3600) + 1;
        double ra = new Starfield.Render.FrameRenderer(scene).CentreRightAscensionDeg;
        scene = scene with
        {
            Stars = Stars(request, scene.StartUtc, ra, Math.Min(radius, 60),
                RandomField.FaintestFor(StarsInPicture, squareDegrees)),
        };
        FrameFormat format = request.Format switch
        {
            "tiff" => FrameFormat.Tiff,
            "jpeg" => FrameFormat.Jpeg,
            "png" => FrameFormat.Png,
            _ => FrameFormat.Fits,
        };
        string folder = Path.Combine(request.Folder.FullName, name);
        var clock = new CameraClock(WholeSeconds: request.WholeSecondStamps);
        ProgressBar.Run($"taking frames, {name}", count, night, progress =>
            new FrameSequence(count, request.ExposureSec, request.GapSec)
                .Write(scene, folder, format, clock, f => ToneCurve.Stretched(f), new FramesDone(progress)));
        WriteRemark($"Took {count} frames with the drive {(name == "stopped" ? "stopped" : "on")} into {folder}.");
    }

    // At once and in order, which Progress<T> does not promise.
    private sealed class FramesDone(Action<double> progress) : IProgress<int>
    {
        public void Report(int value) => progress(value);
    }
}
