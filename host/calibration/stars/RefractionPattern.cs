// What changing refraction does to a field of stars while a camera tracks it: the part of the drift that no drive and no
// axis is to blame for. The refraction itself is host/sky's.

using Hourhinge.Sky;

namespace Hourhinge.Calibration.Stars;

/// <summary>The apparent motion of a field against one that turns about the true pole at the sidereal rate.</summary>
/// <param name="Place">Middle of the field at time zero: true hour angle and declination.</param>
/// <param name="Latitude">Of the site.</param>
/// <param name="Air">At the site.</param>
public sealed record RefractionPattern(HourAngleDeclination Place, Angle Latitude, Air Air)
{
    private static readonly Angle s_arm = Angle.FromDegrees(1);

    /// <summary>
    /// Drift since time zero at a time: arcsec east and north of the field's middle, arcsec of turn from east to north.
    /// The turn is the mean of an arm to the north and an arm to the east, as a fit of a similarity sees it.
    /// </summary>
    public (double East, double North, double Turn) At(double seconds)
    {
        (double e0, double n0, double t0) = Seen(0);
        (double e1, double n1, double t1) = Seen(seconds);
        return (e1 - e0, n1 - n0, t1 - t0);
    }

    private (double East, double North, double Turn) Seen(double seconds)
    {
        Angle turned = new(Horizon.RotationRadPerSecond * seconds);
        HourAngleDeclination Shifted(Angle west, Angle north) =>
            new(Place.HourAngle + turned + (west / Place.Declination.Cos()), Place.Declination + north);
        (double East, double North) Lift(HourAngleDeclination at)
        {
            HourAngleDeclination seen = RefractionDrift.Seen(at, Latitude, Air);
            double west = (seen.HourAngle - at.HourAngle).WrappedSigned().Arcseconds * at.Declination.Cos();
            return (-west, (seen.Declination - at.Declination).Arcseconds);
        }

        (double east, double north) = Lift(Shifted(Angle.Zero, Angle.Zero));
        (double eastUp, _) = Lift(Shifted(Angle.Zero, s_arm));
        (double eastDown, _) = Lift(Shifted(Angle.Zero, -s_arm));
        (_, double northWest) = Lift(Shifted(s_arm, Angle.Zero));
        (_, double northEast) = Lift(Shifted(-s_arm, Angle.Zero));
        // East to north: an arm to the east whose end goes north, an arm to the north whose end goes west.
        double turn = ((northEast - northWest) / (2 * s_arm.Radians) / 2) - ((eastUp - eastDown) / (2 * s_arm.Radians) / 2);
        // Meridians draw together towards the pole: north at the end of the arm to the east leans by its length × tan(declination).
        return (east, north, turn + (east * Place.Declination.Tan() / 2));
    }
}
