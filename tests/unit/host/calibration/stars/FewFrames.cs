// A folder of small FITS frames with known trailing, for tests of what a user does with a folder. Not here: checks.
using Hourhinge.Frames.Reading;
using Hourhinge.Tests.Host.Frames;

namespace Hourhinge.Tests.Host.Calibration.Stars;

/// <summary>Writes such a folder.</summary>
internal static class FewFrames
{
    /// <summary>One frame of 480 by 320 for each trail's length in px; all trails point 30 degrees from right towards
    /// down.</summary>
    public static void Write(string folder, IReadOnlyList<double> trailsPx)
    {
        Directory.CreateDirectory(folder);
        for (int i = 0; i < trailsPx.Count; i++)
        {
            (double sin, double cos) = Math.SinCos(Math.PI / 6);
            IEnumerable<TinyStar> stars = TinySky.RandomStars(480, 320, 60, 5_000, 200_000, 1, apart: 16)
                .Select(s => s with { TrailX = trailsPx[i] * cos, TrailY = trailsPx[i] * sin });
            using FrameImage image = new TinySky(480, 320, 200, 60 + i).Draw(stars, 1.1).Expose();
            using FileStream file = File.Create(
                Path.Combine(folder, $"night_{i + 1:D3}.fits"));
            TestFitsFile.Write(file, image, h => h.Add("DATE-OBS", $"2026-10-12T21:1{i % 10}:00").Add("EXPTIME", 30));
        }
    }
}
