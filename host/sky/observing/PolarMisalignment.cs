// Drift and field rotation of an axis that does not point at the pole. First order in the offset, checked against exact
// rotations (AxisTests). The axis error from frames: host/calibration/stars.
using Hourhinge.Numerics;
using Hourhinge.Sky.Places;

namespace Hourhinge.Sky.Observing;

/// <summary>A star's drift across a tracking camera, on the sky.</summary>
/// <param name="WestArcsecPerMinute">Towards growing hour angle, a true arc (already times cos declination).</param>
/// <param name="NorthArcsecPerMinute">Towards growing declination.</param>
public readonly record struct Drift(double WestArcsecPerMinute, double NorthArcsecPerMinute)
{
    public double TotalArcsecPerMinute => Math.Sqrt(
        (WestArcsecPerMinute * WestArcsecPerMinute) + (NorthArcsecPerMinute * NorthArcsecPerMinute));
}

/// <summary>How far the axis points from the celestial pole above the horizon.</summary>
/// <param name="High">Positive: the axis points too high.</param>
/// <param name="EastOnSky">Positive: it points too far east, as an arc on the sky: the turn of the base times the
/// cosine of the latitude.</param>
/// <param name="Latitude">Of the site; selects the pole.</param>
public readonly record struct PolarMisalignment(Angle High, Angle EastOnSky, Angle Latitude)
{
    private const double PerMinute = Horizon.RotationRadPerSecond * 60;

    // Offset of the north-going axis, towards the meridian at the equator (x) and towards west (y). In the south the
    // hinge points at the other end, so both change sign. These axes are left-handed: the sky turns from x to y.
    private double X => Latitude.Radians < 0 ? -High.Radians : High.Radians;

    private double Y => Latitude.Radians < 0 ? EastOnSky.Radians : -EastOnSky.Radians;

    /// <summary>The drift this axis makes at a place. Error of the first order: the square of the offset.</summary>
    public Drift DriftAt(HourAngleDeclination place)
    {
        (Angle h, Angle d) = (place.HourAngle, place.Declination);
        double west = d.Sin() * ((X * h.Cos()) + (Y * h.Sin()));
        double north = (Y * h.Cos()) - (X * h.Sin());
        return new Drift(new Angle(west * PerMinute).Arcseconds, new Angle(north * PerMinute).Arcseconds);
    }

    /// <summary>Rotation of the frame about its centre, degrees per minute.</summary>
    /// <returns>Positive: the sky turns from north to east (anticlockwise as seen) in the frame.</returns>
    public double FieldRotationDegPerMinute(HourAngleDeclination place)
    {
        (Angle h, Angle d) = (place.HourAngle, place.Declination);
        return new Angle(-d.Cos() * ((X * h.Cos()) + (Y * h.Sin())) * PerMinute).Degrees;
    }

    /// <summary>Blur of one exposure; nothing corrects the drift of the frame's centre.</summary>
    /// <param name="place">Centre of the frame at mid-exposure.</param>
    /// <param name="exposureSeconds">0 or more; short against a day.</param>
    /// <param name="cornerDistance">From the centre of the frame to its corner.</param>
    public ExposureBlur BlurOver(HourAngleDeclination place, double exposureSeconds, Angle cornerDistance)
    {
        ArgumentOutOfRangeException.ThrowIfNegative(exposureSeconds);
        double minutes = exposureSeconds / 60;
        var rotation = Angle.FromDegrees(Math.Abs(FieldRotationDegPerMinute(place)) * minutes);
        return new ExposureBlur(
            DriftAt(place).TotalArcsecPerMinute * minutes, rotation, cornerDistance.Arcseconds * rotation.Radians);
    }
}

/// <summary>Effect of a misaligned axis on one exposure.</summary>
/// <param name="DriftArcsec">Everywhere in the frame.</param>
/// <param name="Rotation">Rotation of the field.</param>
/// <param name="CornerTrailArcsec">Trail at the corner from the rotation alone.</param>
public readonly record struct ExposureBlur(double DriftArcsec, Angle Rotation, double CornerTrailArcsec);
