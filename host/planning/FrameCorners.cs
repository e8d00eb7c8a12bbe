// Motions at the corners of a frame, as vectors: the axis and refraction move a corner otherwise than the centre. How
// the camera is turned is not known, so every position angle of the corner is tried.

using Hourhinge.Numerics;
using Hourhinge.SharedMath.Geometry;
using Hourhinge.Sky.Observing;
using Hourhinge.Sky.Places;

namespace Hourhinge.Planning;

/// <summary>The worst trail that the axis or refraction leaves at a corner, arcsec a second.</summary>
/// <param name="centre">Centre of the frame.</param>
/// <param name="distance">From the centre to a corner.</param>
/// <param name="latitude">Of the site.</param>
/// <param name="air">Air at the site.</param>
internal sealed class FrameCorners(HourAngleDeclination centre, Angle distance, Angle latitude, Air air)
{
    private const int StepDeg = 15;

    private readonly HourAngleDeclination[] _corners =
        [.. Enumerable.Range(0, 360 / StepDeg).Select(i => CornerAt(centre, distance, i * StepDeg))];

    /// <summary>Trail of the worst corner for an axis off the pole by this much, in the worst direction: drift and
    /// field rotation added as vectors.</summary>
    public double AxisArcsecPerSec(double axisErrorArcmin)
    {
        Angle size = Angle.FromArcminutes(axisErrorArcmin);
        double worst = 0;
        for (int deg = 0; deg < 180; deg += 5)
        {
            (double sin, double cos) = Math.SinCos(deg * Math.PI / 180);
            var axis = new PolarMisalignment(size * cos, size * sin, latitude);
            // The drift at the corner's own place contains the rotation about the centre.
            worst = _corners.Append(centre).Max(c => Math.Max(worst, axis.DriftAt(c).TotalArcsecPerMinute / 60));
        }

        return worst;
    }

    /// <summary>Trail of the worst corner, or of the centre, from refraction.</summary>
    /// <param name="followed">Rate followed over the Earth's rotation rate.</param>
    public double RefractionArcsecPerSec(double followed) =>
        _corners.Append(centre).Max(c => Motion(c, followed).Length);

    /// <summary>Largest difference between the motions of a corner and of the centre from refraction.</summary>
    public double AcrossArcsecPerSec()
    {
        SkyVector middle = Motion(centre, 1);
        return _corners.Max(c =>
        {
            // North at the corner is turned against north at the centre: convergence of the meridians.
            double turn = (c.HourAngle - centre.HourAngle).Radians
                * Math.Sin((c.Declination.Radians + centre.Declination.Radians) / 2);
            return Motion(c, 1).Turned(turn).Minus(middle).Length;
        });
    }

    private SkyVector Motion(HourAngleDeclination place, double followed)
    {
        RefractedMotion motion = RefractionDrift.At(place, latitude, air, AxisAim.RefractedPole);
        return new SkyVector(
            (motion.RateRatio - followed) * AngleUnits.ToArcsec(SkyRate.SiderealRadPerSec)
                * Math.Cos(place.Declination.Radians),
            motion.DeclinationArcsecPerMinute / 60);
    }

    private static HourAngleDeclination CornerAt(HourAngleDeclination centre, Angle distance, double deg)
    {
        (double sinAngle, double cosAngle) = Math.SinCos(deg * Math.PI / 180);
        (double sinDistance, double cosDistance) = Math.SinCos(distance.Radians);
        (double sinDec, double cosDec) = Math.SinCos(centre.Declination.Radians);
        double declination = Math.Asin((sinDec * cosDistance) + (cosDec * sinDistance * cosAngle));
        double west = Math.Atan2(sinAngle * sinDistance, (cosDec * cosDistance) - (sinDec * sinDistance * cosAngle));
        // Refraction about the pole itself is not defined.
        double limit = Angle.FromDegrees(89.9).Radians;
        return new HourAngleDeclination(
            centre.HourAngle + new Angle(west), new Angle(Math.Clamp(declination, -limit, limit)));
    }

    private readonly record struct SkyVector(double West, double North)
    {
        public double Length => Math.Sqrt((West * West) + (North * North));

        public SkyVector Minus(SkyVector other) => new(West - other.West, North - other.North);

        // From axes at the corner to axes at the centre: a corner in the west sees the northern pole to its east.
        public SkyVector Turned(double rad)
        {
            (double sin, double cos) = Math.SinCos(rad);
            return new((West * cos) - (North * sin), (North * cos) + (West * sin));
        }
    }
}
