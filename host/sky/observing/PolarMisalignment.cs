// The axis that does not point at the pole: the drift and the field rotation it makes, and the way back from a
// measured drift to how far to raise and turn the axis. First order in the offset, checked against exact rotations.
using Hourhinge.Numerics;
using Hourhinge.Sky.Places;
using MathNet.Numerics.LinearAlgebra;

namespace Hourhinge.Sky.Observing;

/// <summary>A star's drift across a tracking camera, on the sky.</summary>
/// <param name="WestArcsecPerMinute">Towards growing hour angle, a true arc (already times cos declination).</param>
/// <param name="NorthArcsecPerMinute">Towards growing declination.</param>
public readonly record struct Drift(double WestArcsecPerMinute, double NorthArcsecPerMinute)
{
    public double TotalArcsecPerMinute => Math.Sqrt(
        (WestArcsecPerMinute * WestArcsecPerMinute) + (NorthArcsecPerMinute * NorthArcsecPerMinute));
}

/// <summary>A drift measured at a place in the sky.</summary>
/// <param name="Place">Where the star stood, the middle of the run.</param>
/// <param name="WestArcsecPerMinute">Measured, or null where the rate of the drive itself is not trusted.</param>
/// <param name="NorthArcsecPerMinute">Measured, or null where not measured.</param>
public readonly record struct MeasuredDrift(
    HourAngleDeclination Place, double? WestArcsecPerMinute, double? NorthArcsecPerMinute)
{
    /// <summary>The same with the part that refraction makes taken out: what is left is the axis.</summary>
    /// <param name="driveRateRatio">The drive's rate over the sidereal rate, as it ran.</param>
    /// <param name="latitude">Of the site.</param>
    /// <param name="air">Air at the site.</param>
    public MeasuredDrift WithoutRefraction(double driveRateRatio, Angle latitude, Air air)
    {
        RefractedMotion refracted = RefractionDrift.At(Place, latitude, air);
        double west = new Angle((refracted.RateRatio - driveRateRatio) * Horizon.RotationRadPerSecond * 60).Arcseconds
            * Place.Declination.Cos();
        return new MeasuredDrift(Place, WestArcsecPerMinute - west,
            NorthArcsecPerMinute - refracted.DeclinationArcsecPerMinute);
    }
}

/// <summary>How far the axis points from the celestial pole above the horizon.</summary>
/// <param name="High">Positive: the axis points too high, lower it by this much.</param>
/// <param name="EastOnSky">Positive: it points too far east, as an arc on the sky.</param>
/// <param name="Latitude">Of the site; decides which pole, and the azimuth scale.</param>
public readonly record struct PolarMisalignment(Angle High, Angle EastOnSky, Angle Latitude)
{
    private const double PerMinute = Horizon.RotationRadPerSecond * 60;

    /// <summary>From the two adjusting screws: altitude and azimuth, azimuth positive east.</summary>
    /// <param name="high">Too high.</param>
    /// <param name="eastInAzimuth">Too far east, on the azimuth scale.</param>
    /// <param name="latitude">Of the site, not a pole of the Earth (there azimuth has no meaning).</param>
    public static PolarMisalignment FromScrews(Angle high, Angle eastInAzimuth, Angle latitude) =>
        new PolarMisalignment(high, eastInAzimuth * latitude.Cos(), latitude);

    /// <summary>Too far east as the azimuth screw counts it.</summary>
    public Angle EastInAzimuth => EastOnSky / Latitude.Cos();

    /// <summary>Distance of the axis from the pole.</summary>
    public Angle Total => new Angle(Math.Sqrt((High.Radians * High.Radians) + (EastOnSky.Radians * EastOnSky.Radians)));

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

    /// <summary>Turn of the frame about the star in the middle, degrees per minute.</summary>
    /// <returns>Positive: the sky turns from north to east (anticlockwise as seen) in the frame.</returns>
    public double FieldRotationDegPerMinute(HourAngleDeclination place)
    {
        (Angle h, Angle d) = (place.HourAngle, place.Declination);
        return new Angle(-d.Cos() * ((X * h.Cos()) + (Y * h.Sin())) * PerMinute).Degrees;
    }

    /// <summary>What one exposure suffers when the middle of the frame is not guided.</summary>
    /// <param name="place">Middle of the frame at mid-exposure.</param>
    /// <param name="exposureSeconds">0 or more; short against a day.</param>
    /// <param name="cornerDistance">From the middle of the frame to its corner.</param>
    public ExposureBlur BlurOver(HourAngleDeclination place, double exposureSeconds, Angle cornerDistance)
    {
        ArgumentOutOfRangeException.ThrowIfNegative(exposureSeconds);
        double minutes = exposureSeconds / 60;
        var rotation = Angle.FromDegrees(Math.Abs(FieldRotationDegPerMinute(place)) * minutes);
        return new ExposureBlur(
            DriftAt(place).TotalArcsecPerMinute * minutes, rotation, cornerDistance.Arcseconds * rotation.Radians);
    }

    /// <summary>The axis offset that explains measured drifts, by least squares.</summary>
    /// <param name="measured">
    /// One star with both components will do away from the equator (west fades with sin declination there); or two
    /// north components some hours apart.
    /// </param>
    /// <param name="latitude">Of the site.</param>
    /// <exception cref="ArgumentException">The measurements cannot tell both directions apart.</exception>
    public static PolarMisalignment FromDrift(IReadOnlyList<MeasuredDrift> measured, Angle latitude)
    {
        ArgumentNullException.ThrowIfNull(measured);
        var rows = new List<double[]>();
        var rates = new List<double>();
        foreach (MeasuredDrift m in measured)
        {
            (Angle h, Angle d) = (m.Place.HourAngle, m.Place.Declination);
            Add(m.WestArcsecPerMinute, d.Sin() * h.Cos(), d.Sin() * h.Sin());
            Add(m.NorthArcsecPerMinute, -h.Sin(), h.Cos());
        }

        const double LeastTold = 0.05;
        if (rows.Count < 2 || Matrix<double>.Build.DenseOfRowArrays(rows).Svd().S.Minimum() < LeastTold)
        {
            throw new ArgumentException("The drift measurements leave one direction of the axis open: measure a star "
                + "away from the equator in both directions, or two stars about 6 h apart in hour angle.",
                nameof(measured));
        }

        Vector<double> offset = Matrix<double>.Build.DenseOfRowArrays(rows).QR()
            .Solve(Vector<double>.Build.DenseOfEnumerable(rates));
        bool south = latitude.Radians < 0;
        return new PolarMisalignment(
            new Angle(south ? -offset[0] : offset[0]), new Angle(south ? offset[1] : -offset[1]), latitude);

        void Add(double? arcsecPerMinute, double x, double y)
        {
            if (arcsecPerMinute is not { } rate)
            {
                return;
            }

            rows.Add(new[] { x, y });
            rates.Add(Angle.FromArcseconds(rate).Radians / PerMinute);
        }
    }
}

/// <summary>What a misaligned axis does to one exposure.</summary>
/// <param name="DriftArcsec">Everywhere in the frame.</param>
/// <param name="Rotation">Turn of the field.</param>
/// <param name="CornerTrailArcsec">Trail at the corner from the turn alone.</param>
public readonly record struct ExposureBlur(double DriftArcsec, Angle Rotation, double CornerTrailArcsec);
