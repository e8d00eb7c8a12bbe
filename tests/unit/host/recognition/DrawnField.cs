// Star lists as a finder would return them, drawn from the catalogue through a random lens. No pixels: the finder has
// its own tests.
using Hourhinge.Numerics;
using Hourhinge.Recognition;
using Hourhinge.Sky.Places;
using Hourhinge.Sky.Stars;

namespace Hourhinge.Tests.Host.Recognition;

/// <summary>A frame's true field and the sources that are seen of it.</summary>
/// <param name="Truth">Where the frame looks.</param>
/// <param name="Sources">Sources, shuffled.</param>
/// <param name="RealSources">How many of them are catalogue stars.</param>
/// <param name="LensMm">Focal length.</param>
/// <param name="SensorWidthMm">Width of the sensor.</param>
/// <param name="HiddenShare">Share of the frame's stars behind landscape or cloud.</param>
internal sealed record DrawnField(FieldProjection Truth, IReadOnlyList<ImageStar> Sources, int RealSources,
    double LensMm, double SensorWidthMm, double HiddenShare)
{
    /// <summary>Draws a random frame: 12 to 400 mm, APS-C or full frame, anywhere on the sky.</summary>
    public static DrawnField Random(Random random)
    {
        (double sensorMm, int width, int height) = random.Next(2) == 0 ? (23.5, 6000, 4000) : (36.0, 6016, 4016);
        if (random.Next(3) == 0)
        {
            (width, height) = (width / 3, height / 3);
        }

        double lensMm = 12 * Math.Pow(400.0 / 12, random.NextDouble()), focalPx = lensMm / sensorMm * width;
        var centre = new Equatorial(Angle.FromDegrees(random.NextDouble() * 360),
            new Angle(Math.Asin((2 * random.NextDouble()) - 1)));
        double corner = Math.Sqrt(((double)width * width) + ((double)height * height)) / 2 / focalPx;
        // Up to 3 % at the corner in all; the second term up to a third of it.
        double second = ((2 * random.NextDouble()) - 1) * 0.01, first = (((2 * random.NextDouble()) - 1) * 0.03)
            - second;
        var lens = new LensDistortion(first / (corner * corner), second / Math.Pow(corner, 4));
        FieldProjection truth = FieldProjection.At(width, height, centre, new Angle(random.NextDouble() * Math.Tau),
            focalPx, lens, random.Next(5) == 0) with
        {
            // The lens's axis misses the frame's centre by some tenths of a millimetre.
            Axis = new OpticalAxis(0.004 * width * Gauss(random), 0.004 * width * Gauss(random)),
        };
        return Draw(truth, random, lensMm, sensorMm);
    }

    /// <summary>Draws the sources of a given field.</summary>
    public static DrawnField Draw(FieldProjection truth, Random random, double lensMm = 0, double sensorMm = 0)
    {
        // The exposure decides how deep the frame goes: 60 to 600 stars, as far as the catalogue has them.
        int wanted = (int)(60 * Math.Pow(10, random.NextDouble()));
        var seen = new List<(FramePoint Place, double Magnitude)>();
        double edge = Math.Cos(Math.Atan(truth.CornerRadius * 1.1));
        foreach (CatalogueStar star in StarCatalogue.Stars)
        {
            if (star.Direction.Dot(truth.ToCamera.Row3) > edge && truth.ToPixel(star.Direction) is { } p
                && truth.Contains(p))
            {
                seen.Add((p, star.Magnitude));
                if (seen.Count == wanted)
                {
                    break;
                }
            }
        }

        Func<FramePoint, bool> hidden = Cover(truth, random, 0.85 * random.NextDouble());
        double noisePx = 0.1 + (0.4 * random.NextDouble()), missing = 0.15 * random.NextDouble();
        var sources = new List<ImageStar>();
        foreach ((FramePoint place, double magnitude) in seen)
        {
            if (hidden(place) || random.NextDouble() < missing)
            {
                continue;
            }

            // Colour, vignetting and thin cloud.
            double drawn = magnitude + (0.25 * Gauss(random));
            sources.Add(new ImageStar(place.X + (noisePx * Gauss(random)), place.Y + (noisePx * Gauss(random)),
                Math.Pow(10, -0.4 * drawn)));
        }

        int real = sources.Count;
        double hiddenShare = 1 - (seen.Count(s => !hidden(s.Place)) / Math.Max(1.0, seen.Count));
        // False sources: up to half as many as stars, of any brightness; and stars that the catalogue does not hold.
        double faintest = seen.Count > 0 ? seen[^1].Magnitude : 8;
        int anywhere = (int)(real * 0.5 * random.NextDouble()), faint = random.Next(0, 1 + (2 * real));
        for (int i = 0; i < anywhere + faint; i++)
        {
            double magnitude = i < anywhere ? faintest - (4 * Math.Pow(random.NextDouble(), 2))
                : faintest + 0.3 + random.NextDouble();
            sources.Add(new ImageStar(random.NextDouble() * truth.Width, random.NextDouble() * truth.Height,
                Math.Pow(10, -0.4 * magnitude)));
        }

        ImageStar[] shuffled = [.. sources];
        random.Shuffle(shuffled);
        return new DrawnField(truth, shuffled, real, lensMm, sensorMm, hiddenShare);
    }

    /// <summary>Largest distance in pixels between where the truth and a result draw the corners and the
    /// centre.</summary>
    public double WorstErrorPx(FieldProjection found)
    {
        double worst = 0;
        foreach ((double x, double y) in ((double, double)[])[(0.5, 0.5), (0.1, 0.1), (0.9, 0.1), (0.1, 0.9),
            (0.9, 0.9)])
        {
            var place = new FramePoint(x * Truth.Width, y * Truth.Height);
            if (Truth.ToDirection(place) is not { } direction || found.ToPixel(direction) is not { } drawn)
            {
                return double.PositiveInfinity;
            }

            worst = Math.Max(worst, Math.Sqrt(Math.Pow(drawn.X - place.X, 2) + Math.Pow(drawn.Y - place.Y, 2)));
        }

        return worst;
    }

    /// <summary>Standard normal deviate (Box and Muller 1958).</summary>
    public static double Gauss(Random random) =>
        Math.Sqrt(-2 * Math.Log(1 - random.NextDouble())) * Math.Cos(Math.Tau * random.NextDouble());

    // A landscape at one side, or clouds: discs until the share is covered.
    private static Func<FramePoint, bool> Cover(FieldProjection frame, Random random, double share)
    {
        if (random.Next(2) == 0)
        {
            double angle = random.NextDouble() * Math.Tau, cos = Math.Cos(angle), sin = Math.Sin(angle);
            double Along(FramePoint p) => (p.X * cos) + (p.Y * sin);
            double[] spread = [.. Enumerable.Range(0, 1000).Select(_ => Along(new FramePoint(
                random.NextDouble() * frame.Width, random.NextDouble() * frame.Height))).Order()];
            double horizon = spread[(int)(share * 999)];
            return p => Along(p) < horizon;
        }

        var discs = new List<(double X, double Y, double Square)>();
        bool Hidden(FramePoint p) =>
            discs.Any(d => Math.Pow(p.X - d.X, 2) + Math.Pow(p.Y - d.Y, 2) < d.Square);
        FramePoint[] probes = [.. Enumerable.Range(0, 400).Select(_ => new FramePoint(
            random.NextDouble() * frame.Width, random.NextDouble() * frame.Height))];
        while (probes.Count(Hidden) < share * probes.Length)
        {
            discs.Add((random.NextDouble() * frame.Width, random.NextDouble() * frame.Height,
                Math.Pow(frame.Width * (0.05 + (0.2 * random.NextDouble())), 2)));
        }

        return Hidden;
    }
}
