// Refraction as a source of tracking error: the rate of a refracted star about the hinge axis, and its drift in
// declination. The formulas are in shared-math (RefractedRotation).
using Hourhinge.Numerics;
using Hourhinge.SharedMath.Geometry;
using Hourhinge.Sky.Places;

namespace Hourhinge.Sky.Observing;

/// <summary>The motion of a refracted star about the hinge axis.</summary>
/// <param name="RateRatio">Rate of the observed hour angle over the Earth's rotation rate.</param>
/// <param name="DeclinationArcsecPerMinute">Drift of the observed declination, which no rate can follow.</param>
public readonly record struct RefractedMotion(double RateRatio, double DeclinationArcsecPerMinute);

/// <summary>Motion of refracted stars.</summary>
public static class RefractionDrift
{
    /// <summary>The observed place of a true place: hour angle and declination about the true pole, refraction
    /// included.</summary>
    public static HourAngleDeclination Observed(HourAngleDeclination truePlace, Angle latitude, Air air) =>
        Horizon.ToHourAngle(Refraction.Apply(Horizon.FromHourAngle(truePlace, latitude), air), latitude);

    /// <summary>Motion of the observed star about the hinge axis.</summary>
    /// <param name="truePlace">10 degrees or more above the horizon; not on the axis.</param>
    /// <param name="latitude">Of the site.</param>
    /// <param name="air">Air at the site.</param>
    /// <param name="aim">Where the axis points: <see cref="AxisAim.RefractedPole"/> for an axis aimed at the sky by eye
    /// or by drift; <see cref="AxisAim.TruePole"/> for an axis on the true pole, and for a camera at rest when its
    /// frames are described by true hour angle and declination.</param>
    /// <remarks>Accuracy against erfa.atco13 on 500 stars above 15 degrees (HorizonTests): 0.04 arcsec a minute, of up
    /// to 1.7.</remarks>
    public static RefractedMotion At(HourAngleDeclination truePlace, Angle latitude, Air air, AxisAim aim)
    {
        var motion = new RefractedRotation(
            latitude.Radians, truePlace.Declination.Radians, truePlace.HourAngle.Radians, air.Density, aim);
        var perMinute = new Angle(Horizon.RotationRadPerSecond * 60);
        return new RefractedMotion(motion.RateFactor, motion.DeclinationRate * perMinute.Arcseconds);
    }
}
