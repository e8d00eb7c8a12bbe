// Frames of host/starfield straight to star lists, without files. Not here: checks.
using Hourhinge.Frames.Matching;
using Hourhinge.Frames.Reading;
using Hourhinge.Frames.Stars;
using Hourhinge.Numerics;
using Hourhinge.Sky.Stars;
using Hourhinge.Starfield.Files;
using Hourhinge.Starfield.Render;
using Hourhinge.Starfield.Scenes;

namespace Hourhinge.Tests.Host.Calibration.Stars;

/// <summary>Renders and measures.</summary>
internal static class RenderedFrames
{
    /// <summary>Star lists of a sequence.</summary>
    /// <param name="sequence">Which frames.</param>
    /// <param name="scene">Of what.</param>
    /// <param name="wholeSeconds">True for time stamps rounded to seconds.</param>
    /// <param name="markedSec">Exposure that the files would name; null for the true one.</param>
    /// <param name="fastBySec">How far the camera's clock is fast.</param>
    /// <param name="paint">Draws something over a frame, given its start since the scene's; null for nothing.</param>
    public static IEnumerable<RunFrame> Shots(FrameSequence sequence, Scene scene, bool wholeSeconds,
        double? markedSec = null, double fastBySec = 0, Action<FrameImage, double>? paint = null)
    {
        var clock = new CameraClock(fastBySec, wholeSeconds);
        foreach (RenderedFrame shot in sequence.Render(scene))
        {
            using FrameImage image = FrameImage.NewCounts(scene.Sensor.WidthPx, scene.Sensor.HeightPx);
            for (int y = 0; y < scene.Sensor.HeightPx; y++)
            {
                shot.Pixels.Span.Slice(y * scene.Sensor.WidthPx, scene.Sensor.WidthPx).CopyTo(image.CountsRow(y));
            }

            paint?.Invoke(image, (shot.StartUtc - scene.StartUtc).TotalSeconds);
            yield return new RunFrame(new FrameInfo($"f{shot.Index:D3}", clock.Stamp(shot.StartUtc),
                wholeSeconds ? 1 : 0.001, markedSec ?? shot.ExposureSeconds, scene.Lens.StatedFocalLengthMm,
                scene.Sensor.PixelPitchMicrometres), StarFinder.Find(image));
        }
    }

    /// <summary>All stars of the catalogue near a field of the scene's camera, and invented ones too faint for
    /// it.</summary>
    /// <param name="scene">Time, lens and sensor.</param>
    /// <param name="raDeg">Centre.</param>
    /// <param name="declinationDeg">Centre.</param>
    /// <param name="seed">Of the invented stars.</param>
    public static IReadOnlyList<SimulatedStar> RealStars(Scene scene, double raDeg, double declinationDeg, int seed)
    {
        const double Faintest = 9.5, RadiusDeg = 6;
        IReadOnlyList<SimulatedStar> real = CatalogueField.OfDate(StarCatalogue.Stars.Select(s =>
            (s.Direction.Longitude().Degrees, s.Direction.Latitude().Degrees, s.Magnitude)), scene.StartUtc);
        Vector3 centre = Vector3.FromSpherical(Angle.FromDegrees(raDeg), Angle.FromDegrees(declinationDeg));
        double near = Math.Cos(RadiusDeg * Math.PI / 180);
        double pixelDeg = scene.Sensor.PixelPitchMicrometres * 1e-3 / scene.Lens.FocalLengthMm * 57.29578;
        double squareDegrees = pixelDeg * pixelDeg * scene.Sensor.WidthPx * scene.Sensor.HeightPx;
        IEnumerable<SimulatedStar> faint = RandomField.Create((ulong)seed, raDeg, declinationDeg, RadiusDeg,
            RandomField.FaintestFor(220, squareDegrees)).Where(s => s.Magnitude > Faintest);
        return [.. real.Where(s => Vector3.FromSpherical(Angle.FromDegrees(s.RightAscensionDeg),
            Angle.FromDegrees(s.DeclinationDeg)).Dot(centre) > near).Concat(faint)];
    }

    /// <summary>Direction in which stars move on the sensor with the drive stopped, for a camera's roll.</summary>
    public static double WestAngleRad(double rollDeg) => rollDeg * Math.PI / 180;
}
