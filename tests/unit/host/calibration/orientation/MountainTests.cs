// A mountain with lit windows and rocks in the lower half of five frames: standing while the stars move (a stopped
// drive), and moving while the stars stand (a drive that follows). Neither may be taken for the sky.
using System.Text.Json;
using Hourhinge.Frames.Reading;
using Hourhinge.Numerics;
using Hourhinge.Recognition;
using Hourhinge.SharedMath.Geometry;
using Hourhinge.Sky.Places;
using Hourhinge.Sky.Stars;
using Hourhinge.Tests.Host.App;
using Hourhinge.Tests.Host.Frames;
using Xunit.Abstractions;

namespace Hourhinge.Tests.Host.Calibration.Orientation;

public sealed class MountainTests(ITestOutputHelper output) : IDisposable
{
    private const int Width = 900, Height = 600, Frames = 5, StepSec = 120, ExposureSec = 20;
    private const double FocalPx = 1000, FaintestMag = 7.5;

    private readonly string _folder = Directory.CreateTempSubdirectory("hourhinge-mountain-").FullName;

    public void Dispose() => Directory.Delete(_folder, true);

    [Fact]
    public void A_standing_mountain_is_not_the_sky()
    {
        Draw(isDriven: false);
        JsonElement json = Calibrate(out int code);
        Assert.Equal(1, code);
        Assert.Equal("stars, drive stopped", json.GetProperty("method").GetString());
        Assert.Equal(-100, json.GetProperty("rate_error_percent").GetDouble(), 1.0);
        (_, string text, _) = Tool.Run("frames", _folder, "--no-state", "--rig", RigFile());
        output.WriteLine(text);
        string plain = string.Join(' ', text.Split((char[]?)null, StringSplitOptions.RemoveEmptyEntries));
        Assert.Contains("the drive stands still", plain, StringComparison.Ordinal);
        Assert.Contains(Directory.GetFiles(_folder), f =>
            plain.Contains($"The frame {Path.GetFileName(f)} is recognised", StringComparison.Ordinal));
        Assert.Contains("Keep none of 5 frames", plain, StringComparison.Ordinal);
    }

    [Fact]
    public void A_moving_mountain_is_not_the_sky()
    {
        Draw(isDriven: true);
        JsonElement json = Calibrate(out _);
        Assert.Equal("stars", json.GetProperty("method").GetString());
        double error = json.GetProperty("rate_error_percent").GetDouble();
        double half = json.GetProperty("rate_error_half_95_percent").GetDouble();
        Assert.InRange(Math.Abs(error), 0, Math.Max(half, 0.05));
        Assert.InRange(half, 0, 5);
        (_, string text, _) = Tool.Run("frames", _folder, "--no-state", "--rig", RigFile());
        output.WriteLine(text);
        Assert.Contains("Keep 5 of 5 frames", text, StringComparison.Ordinal);
        Assert.DoesNotContain("stands still (", text, StringComparison.Ordinal);
    }

    private JsonElement Calibrate(out int code)
    {
        (code, string text, string error) = Tool.Run("calibrate", "stars", RigFile(), _folder, "--json");
        output.WriteLine(text + error);
        return JsonDocument.Parse(text).RootElement;
    }

    // Epoch J2000, so that the catalogue's pole is the sky's; Auriga high up.
    private void Draw(bool isDriven)
    {
        FieldProjection camera = FieldProjection.At(Width, Height,
            new Equatorial(Angle.FromDegrees(88), Angle.FromDegrees(36)), Angle.FromDegrees(20), FocalPx,
            new LensDistortion(-0.02, 0));
        var random = new Random(4);
        (double X, double Y, double Electrons)[] lights = [.. Enumerable.Range(0, 150).Select(_ =>
            (random.NextDouble() * 2 * Width, random.NextDouble() * Height, 2000 * Math.Pow(60, random.NextDouble())))];
        for (int k = 0; k < Frames; k++)
        {
            double t = k * StepSec;
            FramePoint At(Vector3 star, double seconds) => camera.ToPixel(Rotation.About(Vector3.UnitZ,
                new Angle(isDriven ? 0 : -SkyRate.SiderealRadPerSec * seconds)).Apply(star)) ?? new FramePoint(-1, -1);
            FramePoint from = At(camera.Centre.ToVector(), 0);
            // What stands on the ground moves against the sky.
            FramePoint ground = isDriven ? camera.ToPixel(Rotation.About(Vector3.UnitZ,
                new Angle(SkyRate.SiderealRadPerSec * t)).Apply(camera.Centre.ToVector()))!.Value : from;
            (double dx, double dy) = (ground.X - from.X, ground.Y - from.Y);
            bool IsRock(double x, double y) =>
                y - dy > 360 + (50 * Math.Sin((x - dx) / 80)) + (20 * Math.Sin((x - dx) / 19));
            var stars = new List<TinyStar>();
            foreach (CatalogueStar star in StarCatalogue.Stars.TakeWhile(s => s.Magnitude < FaintestMag))
            {
                FramePoint a = At(star.Direction, t), b = At(star.Direction, t + ExposureSec);
                if (camera.Contains(a) && !IsRock(a.X, a.Y))
                {
                    stars.Add(new TinyStar((a.X + b.X) / 2, (a.Y + b.Y) / 2,
                        6000 * Math.Pow(10, 0.4 * (FaintestMag - star.Magnitude)), b.X - a.X, b.Y - a.Y));
                }
            }

            stars.AddRange(lights.Select(l => new TinyStar(l.X + dx - (Width / 2.0), l.Y + dy, l.Electrons))
                .Where(l => IsRock(l.X, l.Y)));
            using FrameImage image = new TinySky(Width, Height, 200, 70 + k).Draw(stars, 1.1).Expose();
            for (int y = 0; y < Height; y++)
            {
                Span<ushort> row = image.CountsRow(y);
                for (int x = 0; x < Width; x++)
                {
                    if (IsRock(x, y))
                    {
                        row[x] += (ushort)(400 + (150 * Math.Sin((x - dx) / 4) * Math.Sin((y - dy) / 3)));
                    }
                }
            }

            using FileStream file = File.Create(Path.Combine(_folder, $"night_{k + 1:D3}.fits"));
            TestFitsFile.Write(file, image, h => h.Add("DATE-OBS", $"2000-01-01T00:{k * StepSec / 60:D2}:00.000")
                .Add("EXPTIME", ExposureSec));
        }
    }

    private string RigFile()
    {
        string file = Path.Combine(_folder, "rig.toml");
        File.WriteAllText(file, File.ReadAllText(Tool.Example("bent-m6-geared"))
            .Replace("pixel_um = 4.3", "pixel_um = 24", StringComparison.Ordinal)
            .Replace("width_px = 6000", "width_px = 900", StringComparison.Ordinal)
            .Replace("height_px = 4000", "height_px = 600", StringComparison.Ordinal)
            .Replace("lenses_mm = [85, 35]", "lenses_mm = [24]", StringComparison.Ordinal));
        return file;
    }
}
