// The pole as the eye sees it: where a star stands about it on a clock face, through the air. Without air, about the
// true pole: PoleReference.cs.
using Hourhinge.Numerics;
using Hourhinge.Sky.Observing;
using Hourhinge.Sky.Places;
using Hourhinge.Sky.Time;

namespace Hourhinge.Sky.Bodies;

/// <summary>A star beside the pole above the horizon, as seen by an observer who faces that pole.</summary>
/// <param name="Clock">From straight up, clockwise as seen, [0, 360).</param>
/// <param name="Distance">From the pole as seen.</param>
public readonly record struct PoleSighting(Angle Clock, Angle Distance)
{
    /// <summary>Hours on a clock face: 0 is up, 3 right, 6 down, 9 left.</summary>
    public double ClockHours => Clock.Degrees / 30;

    /// <summary>The hour hand that points at the star, as a clock's time such as "4:30", to five minutes.</summary>
    public string HandText()
    {
        int minutes = (int)Math.Round(ClockHours * 12) % 144 * 5;
        int hour = minutes / 60;
        return $"{(hour == 0 ? 12 : hour)}:{minutes % 60:00}";
    }
}

/// <summary>The refracted sky about the pole.</summary>
/// <remarks>
/// Refraction lifts the lower of two points more, so the sky about the pole is flattened and a clock angle changes by
/// up to some tenths of a degree at latitude 20 (ErfaTests: accuracy against eraAtco13 with air).
/// </remarks>
public static class PoleView
{
    /// <summary>Altitude at which the pole above the horizon is seen, through the air.</summary>
    public static Angle PoleAltitude(Site site, Air air)
    {
        Angle altitude = site.Latitude.Abs();
        return altitude + Refraction.FromTrue(altitude, air);
    }

    /// <summary>A star about the pole, as seen. Given: a star within 45° of the pole that is above the
    /// horizon.</summary>
    public static PoleSighting Of(CataloguePlace star, Instant t, Site site, Air air)
    {
        Equatorial apparent = ApparentPlace.Of(star, t);
        Horizontal place = Refraction.Apply(Horizon.FromEquatorial(apparent, t, site), air);
        var pole = new Horizontal(PoleAltitude(site, air), site.IsSouthern ? new Angle(Math.PI) : Angle.Zero);
        Angle right = place.Azimuth - pole.Azimuth;
        // Towards the zenith and to the right, on the sphere's tangent plane at the pole.
        double up = (pole.Altitude.Cos() * place.Altitude.Sin())
            - (pole.Altitude.Sin() * place.Altitude.Cos() * right.Cos());
        double across = place.Altitude.Cos() * right.Sin();
        double along = (pole.Altitude.Sin() * place.Altitude.Sin())
            + (pole.Altitude.Cos() * place.Altitude.Cos() * right.Cos());
        return new PoleSighting(new Angle(Math.Atan2(across, up)).Wrapped(),
            new Angle(Math.Atan2(Math.Sqrt((up * up) + (across * across)), along)));
    }

    /// <summary>The largest drift anywhere in the sky for an axis that is off by an angle, arcsec a minute of
    /// time.</summary>
    public static double WorstDriftArcsecPerMinute(Angle off) =>
        new Angle(2 * Math.Sin(off.Radians / 2)).Arcseconds * Horizon.RotationRadPerSecond * 60;
}
