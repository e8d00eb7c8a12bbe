// What changing refraction does to a star during the night: the apparent hour-angle rate to drive at, and the drift
// that is left. Found by differences of the refracted place, so there is no formula of its own to trust.
using Hourhinge.Numerics;
using Hourhinge.Sky.Places;

namespace Hourhinge.Sky.Observing;

/// <summary>The apparent motion of a refracted star.</summary>
/// <param name="RateRatio">Apparent hour-angle rate over the sidereal rate; below 1 nearly everywhere.</param>
/// <param name="DeclinationArcsecPerMinute">Apparent drift in declination, which no rate can follow.</param>
/// <param name="WestArcsecPerMinute">Drift on the sky left at the plain sidereal rate.</param>
public readonly record struct RefractedMotion(
    double RateRatio, double DeclinationArcsecPerMinute, double WestArcsecPerMinute)
{
    /// <summary>What to multiply the sidereal rate by, less one, in parts per million.</summary>
    public double RateCorrectionPpm => (RateRatio - 1) * 1e6;
}

/// <summary>Refraction as a fault of tracking.</summary>
/// <remarks>
/// Drift within 0.04 arcsec a minute of that of erfa.atco13's observed places on 500 stars above 15 degrees
/// (HorizonTests); the drift itself reaches 1.7. Of no use below about 10 degrees of altitude.
/// </remarks>
public static class RefractionDrift
{
    private const double HalfStepSeconds = 60;

    /// <summary>The seen place of a true place: hour angle and declination with refraction in.</summary>
    public static HourAngleDeclination Seen(HourAngleDeclination truePlace, Angle latitude, Air air) =>
        Horizon.ToHourAngle(Refraction.Apply(Horizon.FromHourAngle(truePlace, latitude), air), latitude);

    /// <summary>Apparent motion at a place, by a central difference over two minutes.</summary>
    /// <param name="truePlace">Above the horizon; not within an arcminute of a celestial pole.</param>
    /// <param name="latitude">Of the site.</param>
    /// <param name="air">Air at the site.</param>
    public static RefractedMotion At(HourAngleDeclination truePlace, Angle latitude, Air air)
    {
        var half = new Angle(Horizon.RotationRadPerSecond * HalfStepSeconds);
        HourAngleDeclination before = Seen(truePlace with { HourAngle = truePlace.HourAngle - half }, latitude, air);
        HourAngleDeclination after = Seen(truePlace with { HourAngle = truePlace.HourAngle + half }, latitude, air);
        Angle turned = (after.HourAngle - before.HourAngle).WrappedSigned();
        double ratio = turned.Radians / (2 * half.Radians);
        double minutes = 2 * HalfStepSeconds / 60;
        return new RefractedMotion(ratio, (after.Declination - before.Declination).Arcseconds / minutes,
            (turned - (half * 2)).Arcseconds * truePlace.Declination.Cos() / minutes);
    }

    /// <summary>The one rate for a whole run: the mean apparent rate from one hour angle to another.</summary>
    public static double MeanRateRatio(
        HourAngleDeclination start, double runMinutes, Angle latitude, Air air)
    {
        ArgumentOutOfRangeException.ThrowIfNegativeOrZero(runMinutes);
        var turn = new Angle(Horizon.RotationRadPerSecond * runMinutes * 60);
        Angle seenStart = Seen(start, latitude, air).HourAngle;
        Angle seenEnd = Seen(start with { HourAngle = start.HourAngle + turn }, latitude, air).HourAngle;
        // Beyond half a day the signed difference would fold; runs of a hinge are far shorter.
        return (seenEnd - seenStart).WrappedSigned().Radians / turn.Radians;
    }

    /// <summary>Trail over one exposure at a given drive rate; a hinge can correct nothing else.</summary>
    /// <param name="truePlace">Any point of the frame at mid-exposure; a corner shows the differential part.</param>
    /// <param name="driveRateRatio">The drive's rate over the sidereal rate, 1 for plain sidereal.</param>
    /// <param name="exposureSeconds">0 or more, short against an hour.</param>
    /// <param name="latitude">Of the site.</param>
    /// <param name="air">Air at the site.</param>
    /// <returns>Arcseconds on the sky.</returns>
    public static double TrailArcsec(HourAngleDeclination truePlace, double driveRateRatio, double exposureSeconds,
        Angle latitude, Air air)
    {
        ArgumentOutOfRangeException.ThrowIfNegative(exposureSeconds);
        RefractedMotion motion = At(truePlace, latitude, air);
        double west = new Angle((motion.RateRatio - driveRateRatio) * Horizon.RotationRadPerSecond).Arcseconds
            * truePlace.Declination.Cos();
        double north = motion.DeclinationArcsecPerMinute / 60;
        return Math.Sqrt((west * west) + (north * north)) * exposureSeconds;
    }
}
