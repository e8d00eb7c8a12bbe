// Renders frames of a scene: stars along their true paths, sky, planes, hot pixels, then noise.
// Writing them to files is files/. Why it is fast: only pixels near stars are treated one by one (PixelNoise.cs).

using Hourhinge.Numerics;
using Hourhinge.Starfield.Geometry;
using Hourhinge.Starfield.Scenes;

namespace Hourhinge.Starfield.Render;

/// <summary>
/// The camera of one scene. Frames depend on scene and frame number alone, not on order or on the number of cores.
/// Not thread-safe itself. Speed: tests/reference/starfield/README.md.
/// </summary>
public sealed class FrameRenderer
{
    private const double SigmaPerFwhm = 0.42466090014400953; // 1 / (2 sqrt(2 ln 2))
    // Places of a star's path nearer than this are painted as one, at their weighted mean.
    private const double MergePx = 0.1;

    private readonly Scene _scene;
    private readonly DiurnalMotion _sky;
    private readonly BoardCamera _camera;
    private readonly SpotPainter _painter;
    private readonly (int Pixel, double ElectronsPerSec)[] _hotPixels;
    private readonly (SimulatedStar Star, Vector3 Direction)[] _stars;

    /// <summary>Sets up sky and camera. Throws where the pointing is too low.</summary>
    public FrameRenderer(Scene scene)
    {
        ArgumentNullException.ThrowIfNull(scene);
        _scene = scene;
        _sky = new DiurnalMotion(scene.Site, scene.StartUtc, scene.Refraction);
        _camera = new BoardCamera(scene, _sky);
        _painter = new SpotPainter(scene.Sensor.WidthPx, scene.Sensor.HeightPx);
        _hotPixels = HotPixels(scene);
        _stars = scene.Stars.OrderBy(s => s.Magnitude).Select(s => (s, Vector3.FromSpherical(
            Angle.FromDegrees(s.RightAscensionDeg), Angle.FromDegrees(s.DeclinationDeg)))).ToArray();
    }

    /// <summary>The motion within an exposure; for those who want true places without a picture.</summary>
    public ExposurePath Path(double startSeconds, double exposureSeconds) =>
        new(_scene, _sky, _camera, startSeconds, exposureSeconds);

    /// <summary>Right ascension of the middle of the sensor at t = 0, degrees 0 to 360.</summary>
    public double CentreRightAscensionDeg
    {
        get
        {
            double ra = _scene.Pointing.RightAscensionDeg
                ?? (new Angle(_sky.LocalRotationAngleRad(0)).Degrees - _scene.Pointing.HourAngleDeg!.Value);
            return ra - (360 * Math.Floor(ra / 360));
        }
    }

    /// <summary>
    /// Takes a frame. Given: number in the sequence (its noise hangs on it); start in seconds since the scene's start;
    /// exposure in seconds, 0.001 to 7200.
    /// </summary>
    public RenderedFrame Render(int index, double startSeconds, double exposureSeconds)
    {
        ExposurePath path = Path(startSeconds, exposureSeconds);
        Sensor sensor = _scene.Sensor;
        _painter.Clear();
        List<StarTruth> truth = PaintStars(path);
        foreach (PlaneTrail plane in _scene.Disturbances.Planes)
        {
            PaintPlane(plane, startSeconds, startSeconds + exposureSeconds, SpotSigmaPx(path.Lens));
        }

        foreach ((int pixel, double rate) in _hotPixels)
        {
            _painter.AddToPixel(pixel, rate * exposureSeconds);
        }

        double background = BackgroundElectronsPerSec(path.Lens) * exposureSeconds;
        return new RenderedFrame
        {
            Index = index,
            Scene = _scene,
            Lens = path.Lens,
            StartSeconds = startSeconds,
            ExposureSeconds = exposureSeconds,
            BackgroundElectrons = background,
            Truth = truth,
            Pixels = Expose(new PixelNoise(sensor, background), index),
        };
    }

    private double BackgroundElectronsPerSec(Lens lens)
    {
        double arcsecPerPx = new Angle(_scene.Sensor.PixelPitchMicrometres / 1000 / lens.FocalLengthMm).Arcseconds;
        return (SimulatedSky.PhotonsPerSecPerCm2(_scene.Sky.BrightnessMagPerArcsec2) * arcsecPerPx * arcsecPerPx
            * lens.PupilAreaCm2 * _scene.Sensor.Efficiency) + _scene.Sensor.DarkElectronsPerSec;
    }

    private double SpotSigmaPx(Lens lens)
    {
        double pitch = _scene.Sensor.PixelPitchMicrometres;
        double seeingPx = Angle.FromArcseconds(_scene.Sky.SeeingFwhmArcsec).Radians * lens.FocalLengthMm * 1000 / pitch;
        double lensPx = lens.SpotFwhmMicrometres / pitch;
        // No spot is sharper than a tenth of a pixel: it would change nothing that the pixel's square does not hide.
        return SigmaPerFwhm * Math.Max(0.1, Math.Sqrt((seeingPx * seeingPx) + (lensPx * lensPx)));
    }

    private List<StarTruth> PaintStars(ExposurePath path)
    {
        Sensor sensor = _scene.Sensor;
        double sigma = SpotSigmaPx(path.Lens);
        double perSecondAtZero = SimulatedSky.PhotonsPerSecPerCm2(0) * path.Lens.PupilAreaCm2 * sensor.Efficiency;
        double farthest = FarthestCosine(path.Lens);
        var places = new List<(PixelPoint At, double Seconds)>(path.StepCount);
        var truth = new List<StarTruth>();
        foreach ((SimulatedStar star, Vector3 direction) in _stars)
        {
            if (path.NearestCosine(direction) < farthest || !path.Trace(direction, places))
            {
                continue;
            }

            double rate = perSecondAtZero * Math.Pow(10, -0.4 * star.Magnitude);
            double seconds = 0, sumX = 0, sumY = 0;
            foreach ((PixelPoint at, double weight) in places)
            {
                seconds += weight;
                sumX += weight * at.X;
                sumY += weight * at.Y;
            }
            if (seconds <= 0)
            {
                continue; // behind cloud all the time
            }

            double densest = PaintTrail(places, sigma, rate, rate * seconds);
            var mean = new PixelPoint(sumX / seconds, sumY / seconds);
            if (mean.X < -0.5 || mean.Y < -0.5 || mean.X > sensor.WidthPx - 0.5 || mean.Y > sensor.HeightPx - 0.5)
            {
                continue;
            }

            if (path.Begin(direction) is not { } begin || path.End(direction) is not { } end)
            {
                continue;
            }

            bool full = densest > sensor.FullWellElectrons;
            truth.Add(new StarTruth(star, mean, end.X - begin.X, end.Y - begin.Y, rate * seconds, full));
        }
        return truth;
    }

    // Paints the path with neighbouring places merged; returns the most electrons expected in one pixel of it.
    private double PaintTrail(List<(PixelPoint At, double Seconds)> places, double sigma, double rate, double electrons)
    {
        double weight = 0, x = 0, y = 0, most = 0;
        PixelPoint first = places[0].At;
        void Flush()
        {
            if (weight > 0)
            {
                var at = new PixelPoint(x / weight, y / weight);
                _painter.Add(at, sigma, rate * weight, electrons);
                most = Math.Max(most, ValueAt(at));
            }
            weight = x = y = 0;
        }
        foreach ((PixelPoint at, double seconds) in places)
        {
            if (at.DistanceTo(first) > MergePx)
            {
                Flush();
                first = at;
            }
            weight += seconds;
            x += seconds * at.X;
            y += seconds * at.Y;
        }
        Flush();
        return most;
    }

    private double ValueAt(PixelPoint p)
    {
        int x = (int)Math.Round(p.X), y = (int)Math.Round(p.Y);
        bool inside = x >= 0 && y >= 0 && x < _scene.Sensor.WidthPx && y < _scene.Sensor.HeightPx;
        return inside ? _painter.Electrons[(y * _scene.Sensor.WidthPx) + x] : 0;
    }

    // Cosine of the angle beyond which no star can touch the picture: half the diagonal and a third more.
    private double FarthestCosine(Lens lens)
    {
        Sensor s = _scene.Sensor;
        double halfDiagonalMm = Math.Sqrt(((double)s.WidthPx * s.WidthPx) + ((double)s.HeightPx * s.HeightPx))
            / 2 * s.PixelPitchMicrometres / 1000;
        return Math.Cos(Math.Min(1.5, Math.Atan(halfDiagonalMm / lens.FocalLengthMm) * 4 / 3));
    }

    private void PaintPlane(PlaneTrail plane, double from, double to, double sigma)
    {
        double begin = Math.Max(from, plane.FromSeconds), end = Math.Min(to, plane.ToSeconds);
        if (begin >= end)
        {
            return;
        }

        double span = plane.ToSeconds - plane.FromSeconds;
        double dx = plane.ToX - plane.FromX, dy = plane.ToY - plane.FromY;
        double lengthPx = Math.Sqrt((dx * dx) + (dy * dy)) * (end - begin) / span;
        int spots = Math.Max(1, (int)Math.Ceiling(lengthPx / 0.5));
        for (int i = 0; i < spots; i++)
        {
            double part = (begin - plane.FromSeconds + ((end - begin) * (i + 0.5) / spots)) / span;
            var at = new PixelPoint(plane.FromX + (dx * part), plane.FromY + (dy * part));
            _painter.Add(at, sigma, plane.ElectronsPerPx * lengthPx / spots, plane.ElectronsPerPx);
        }
    }

    private ushort[] Expose(PixelNoise noise, int index)
    {
        int width = _scene.Sensor.WidthPx;
        float[] extra = _painter.Electrons;
        ushort[] pixels = new ushort[extra.Length];
        Parallel.For(0, _scene.Sensor.HeightPx, y =>
        {
            // A stream of its own for each row: the picture does not hang on how rows are shared out.
            var random = new Xoshiro256(Xoshiro256.Mix(_scene.Seed, (ulong)index, (ulong)y));
            Span<ushort> row = pixels.AsSpan(y * width, width);
            ReadOnlySpan<float> add = extra.AsSpan(y * width, width);
            for (int x = 0; x < row.Length; x++)
            {
                row[x] = add[x] == 0 ? noise.DrawBackground(random) : noise.Draw(add[x], random);
            }
        });
        return pixels;
    }

    private static (int Pixel, double ElectronsPerSec)[] HotPixels(Scene scene)
    {
        Sensor s = scene.Sensor;
        var random = new Xoshiro256(Xoshiro256.Mix(scene.Seed, ulong.MaxValue, 0));
        double share = Check.Range(s.HotPixelShare, 0, 0.01, "Share of hot pixels");
        int count = random.NextPoisson(share * s.WidthPx * s.HeightPx);
        return Enumerable.Range(0, count).Select(_ => (
            (int)(random.NextDouble() * s.WidthPx * s.HeightPx),
            -Math.Log(1 - random.NextDouble()) * s.HotPixelMeanElectronsPerSec)).ToArray();
    }
}
