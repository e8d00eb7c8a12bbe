// Position of a reference star relative to the true celestial pole, and the drift of an axis that is aimed at it.
using Hourhinge.Numerics;
using Hourhinge.Sky.Observing;
using Hourhinge.Sky.Places;
using Hourhinge.Sky.Time;

namespace Hourhinge.Sky.Bodies;

/// <summary>A star near a pole, for pointing the hinge by eye.</summary>
public sealed record PoleStar(string Name, string Designation, bool IsSouthern, double Magnitude, CataloguePlace Place)
{
    /// <summary>The stars used, the best for each pole first. Sources of the places: data/README.md.</summary>
    public static IReadOnlyList<PoleStar> All { get; } = new[]
    {
        Star("Polaris", "alpha UMi", false, 1.98, (2, 31, 49.09), (89, 15, 50.8), 0.0445, -0.0119),
        Star("Yildun", "delta UMi", false, 4.35, (17, 32, 13.00), (86, 35, 11.3), 0.0101, 0.0540),
        Star("Polaris Australis", "sigma Oct", true, 5.47, (21, 8, 46.86), (88, 57, 23.4), 0.0257, 0.0050),
        Star("chi Octantis", "chi Oct", true, 5.28, (18, 54, 47.12), (87, 36, 21.0), 0, 0),
        Star("tau Octantis", "tau Oct", true, 5.49, (23, 28, 4.96), (87, 28, 56.1), 0, 0),
    };

    /// <summary>The stars near the pole that is above a site's horizon.</summary>
    public static IEnumerable<PoleStar> For(Site site) => All.Where(s => s.IsSouthern == site.IsSouthern);

    /// <summary>The star that is nearest to the pole above a site's horizon at a moment.</summary>
    public static PoleStarPosition Nearest(Site site, Instant t) =>
        For(site).Select(s => PoleReference.PositionOf(s, t, site)).MinBy(p => p.Distance.Radians);

    private static PoleStar Star(string name, string designation, bool south, double magnitude,
        (int H, int M, double S) ra, (int D, int M, double S) dec, double pmRa, double pmDec) =>
        new PoleStar(name, designation, south, magnitude, new CataloguePlace(
            new Equatorial(Angle.FromHms(ra.H, ra.M, ra.S), Angle.FromDms(south, dec.D, dec.M, dec.S)), pmRa, pmDec));
}

/// <summary>Position of a pole star relative to the true pole of date.</summary>
/// <param name="Star">Which star.</param>
/// <param name="Distance">From the true pole, without refraction.</param>
/// <param name="ClockAngle">From straight up, clockwise as the eye sees it facing the pole, [0, 360).</param>
public readonly record struct PoleStarPosition(PoleStar Star, Angle Distance, Angle ClockAngle)
{
    /// <summary>Clock angle as hours on a clock face: 0 (or 12) is up, 3 right, 6 down, 9 left.</summary>
    public double ClockFaceHours => ClockAngle.Degrees / 30;

    /// <summary>The largest drift anywhere in the sky for an axis that is aimed at the star.</summary>
    /// <remarks>An axis off by e drags stars by up to e times the Earth's rotation, to first order in e.</remarks>
    public double WorstDriftArcsecPerMinute => Distance.Arcseconds * Horizon.RotationRadPerSecond * 60;
}

/// <summary>Pole alignment help.</summary>
public static class PoleReference
{
    /// <summary>Position of a pole star at an instant.</summary>
    /// <param name="star">Northern or southern; the pole is the one near the star.</param>
    /// <param name="t">When.</param>
    /// <param name="site">Its longitude sets the sidereal time.</param>
    public static PoleStarPosition PositionOf(PoleStar star, Instant t, Site site)
    {
        ArgumentNullException.ThrowIfNull(star);
        Equatorial apparent = ApparentPlace.Of(star.Place, t);
        Angle hourAngle = Horizon.HourAngle(apparent, t, site).HourAngle;
        Angle distance = new Angle(Math.PI / 2) - apparent.Declination.Abs();
        // Upper transit is up for both poles; the northern sky turns anticlockwise, the southern clockwise.
        Angle clock = (star.IsSouthern ? hourAngle : -hourAngle).Wrapped();
        return new PoleStarPosition(star, distance, clock);
    }
}
