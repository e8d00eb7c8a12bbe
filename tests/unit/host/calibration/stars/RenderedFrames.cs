// Frames of host/starfield straight to star lists, without files. Not here: checks.
using Hourhinge.Frames.Matching;
using Hourhinge.Frames.Reading;
using Hourhinge.Frames.Stars;
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
    public static IEnumerable<RunFrame> Shots(FrameSequence sequence, Scene scene, bool wholeSeconds,
        double? markedSec = null, double fastBySec = 0)
    {
        var clock = new CameraClock(fastBySec, wholeSeconds);
        foreach (RenderedFrame shot in sequence.Render(scene))
        {
            using FrameImage image = FrameImage.NewCounts(scene.Sensor.WidthPx, scene.Sensor.HeightPx);
            for (int y = 0; y < scene.Sensor.HeightPx; y++)
            {
                shot.Pixels.Span.Slice(y * scene.Sensor.WidthPx, scene.Sensor.WidthPx).CopyTo(image.CountsRow(y));
            }

            yield return new RunFrame(new FrameInfo($"f{shot.Index:D3}", clock.Stamp(shot.StartUtc),
                wholeSeconds ? 1 : 0.001, markedSec ?? shot.ExposureSeconds, scene.Lens.StatedFocalLengthMm,
                scene.Sensor.PixelPitchMicrometres), StarFinder.Find(image));
        }
    }

    /// <summary>Direction in which stars move on the sensor with the drive stopped, for a camera's roll.</summary>
    public static double WestAngleRad(double rollDeg) => rollDeg * Math.PI / 180;
}
