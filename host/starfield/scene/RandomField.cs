// A random field of stars, the same for the same seed, whose numbers against magnitude are those of the mean sky.
// Positions are uniform on the sphere: no clusters, no Milky Way; DensityFactor stands for a rich or a poor field.

using Hourhinge.Numerics;

namespace Hourhinge.Starfield.Scenes;

/// <summary>Random stars by a realistic number-magnitude law.</summary>
public static class RandomField
{
    // Whole-sky counts N brighter than V: 511 at 4 and 15328 at 7 (Hipparcos counts as listed in OEIS A053406), about
    // 1.0e6 at 11 (completeness limit of Tycho-2, from memory). log10 N is the parabola through these three.
    private const double LogAt4 = 2.70842, Slope4To7 = 0.49236, Curvature = -0.01110;
    private const double SquareDegreesOfSky = 41252.961;

    /// <summary>
    /// Mean number of stars of the whole sky brighter than a V magnitude, valid 0 to 13.
    /// Against OEIS A053406: within 5 % at magnitudes 4 to 7, 17 % short at 2 and 3, where the sky has few stars.
    /// </summary>
    public static double StarsBrighterThan(double magnitude)
    {
        Check.Range(magnitude, 0, 13, "Magnitude");
        return Math.Pow(10, LogAt4 + ((magnitude - 4) * (Slope4To7 + (Curvature * (magnitude - 7)))));
    }

    /// <summary>
    /// Given: seed; centre (degrees); radius of the field, 0 to 180 degrees; faintest V magnitude, 0 to 13; how many
    /// times richer than the mean sky it is. Returned: stars, brightest first, numbered from 1.
    /// </summary>
    public static IReadOnlyList<SimulatedStar> Create(
        ulong seed, double raDeg, double decDeg, double radiusDeg, double faintestMagnitude, double densityFactor = 1)
    {
        Check.Range(radiusDeg, 0, 180, "Radius (degrees)");
        double capShare = (1 - Angle.FromDegrees(radiusDeg).Cos()) / 2;
        double total = StarsBrighterThan(faintestMagnitude);
        int count = (int)Math.Round(total * capShare * densityFactor);
        var random = new Xoshiro256(seed);
        Rotation toSky = CentreToSky(Angle.FromDegrees(raDeg), Angle.FromDegrees(decDeg));
        var stars = new List<SimulatedStar>(count);
        for (int i = 0; i < count; i++)
        {
            // Uniform on the cap: the cosine of the distance from the centre is uniform.
            double cos = 1 - (2 * capShare * random.NextDouble()), sin = Math.Sqrt(Math.Max(0, 1 - (cos * cos)));
            double around = 2 * Math.PI * random.NextDouble();
            Vector3 v = toSky.Apply(new Vector3(sin * Math.Cos(around), sin * Math.Sin(around), cos));
            double ra = v.Longitude().Degrees;
            double magnitude = MagnitudeOfRank((1 - random.NextDouble()) * total);
            stars.Add(new SimulatedStar(0, ra < 0 ? ra + 360 : ra, v.Latitude().Degrees,
                magnitude));
        }
        return stars.OrderBy(s => s.Magnitude).Select((s, i) => s with { Id = i + 1 }).ToList();
    }

    /// <summary>
    /// The faintest magnitude for which a field holds about the given number of stars.
    /// Given: stars wanted in an area of square degrees. Returned: V magnitude, held to 0 to 13.
    /// </summary>
    public static double FaintestFor(double starCount, double squareDegrees) =>
        Math.Min(13, MagnitudeOfRank(starCount * SquareDegreesOfSky / squareDegrees));

    private static double MagnitudeOfRank(double rank)
    {
        // log10 rank = L4 + (m-4)(s + c(m-7)): a quadratic in u = m-4 whose lesser root rises with rank.
        double b = Slope4To7 - (3 * Curvature), d = LogAt4 - Math.Log10(rank);
        double discriminant = Math.Max(0, (b * b) - (4 * Curvature * d));
        return Math.Max(0, 4 + ((-b + Math.Sqrt(discriminant)) / (2 * Curvature)));
    }

    private static Rotation CentreToSky(Angle ra, Angle dec)
    {
        Vector3 centre = Vector3.FromSpherical(ra, dec);
        Vector3 east = new(-ra.Sin(), ra.Cos(), 0);
        return new Rotation(east, centre.Cross(east), centre).Inverse();
    }
}
