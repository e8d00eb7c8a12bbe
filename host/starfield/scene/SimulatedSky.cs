// The sky of a scene: its brightness and seeing, a star, and the photons a magnitude stands for.
// A random field of stars is made in RandomField.cs.

namespace Hourhinge.Starfield.Scenes;

/// <summary>Sky brightness and seeing.</summary>
public sealed record SimulatedSky(double BrightnessMagPerArcsec2 = 20.5, double SeeingFwhmArcsec = 3)
{
    /// <summary>V magnitude of a square arcsecond of empty sky, 10 to 23.</summary>
    public double BrightnessMagPerArcsec2 { get; } =
        Check.Range(BrightnessMagPerArcsec2, 10, 23, "Sky brightness (mag/arcsec^2)");

    /// <summary>Full width at half maximum of the seeing, 0 to 60 arcsec.</summary>
    public double SeeingFwhmArcsec { get; } = Check.Range(SeeingFwhmArcsec, 0, 60, "Seeing FWHM (arcsec)");

    /// <summary>
    /// Photons from a star of V = 0 above the air, per second and square centimetre, over the V band: a flux of
    /// 3.64e-20 erg/s/cm^2/Hz (Bessell 1979, from memory) / Planck constant x relative bandwidth 0.16 = 8.79e5.
    /// </summary>
    public const double PhotonsPerSecPerCm2AtMagnitudeZero = 8.79e5;

    /// <summary>Photons per second and square centimetre of a star of the given V magnitude.</summary>
    public static double PhotonsPerSecPerCm2(double magnitude) =>
        PhotonsPerSecPerCm2AtMagnitudeZero * Math.Pow(10, -0.4 * magnitude);
}

/// <summary>
/// A star: number, right ascension and declination in degrees (intermediate coordinates of date), V magnitude.
/// </summary>
public readonly record struct SimulatedStar(int Id, double RightAscensionDeg, double DeclinationDeg, double Magnitude);

/// <summary>Where the camera looks at the start, in degrees, and how it is rolled.</summary>
public sealed record Pointing
{
    private Pointing(double? ra, double? ha, double dec, double roll)
    {
        RightAscensionDeg = ra;
        HourAngleDeg = ha;
        DeclinationDeg = Check.Range(dec, -89.99, 89.99, "Declination (degrees)");
        RollDeg = roll;
    }

    /// <summary>Right ascension, or null where the hour angle is given.</summary>
    public double? RightAscensionDeg { get; }

    /// <summary>Hour angle at the start, west positive, or null where the right ascension is given.</summary>
    public double? HourAngleDeg { get; }

    /// <summary>Declination of the middle of the sensor.</summary>
    public double DeclinationDeg { get; }

    /// <summary>Position angle of the picture's up direction, from north through east.</summary>
    public double RollDeg { get; }

    /// <summary>Point at a right ascension (degrees, intermediate, of date) and a declination.</summary>
    public static Pointing AtRightAscension(double raDeg, double decDeg, double rollDeg = 0) =>
        new(raDeg, null, decDeg, rollDeg);

    /// <summary>Point at an hour angle (degrees at the start, west positive) and a declination.</summary>
    public static Pointing AtHourAngle(double haDeg, double decDeg, double rollDeg = 0) =>
        new(null, haDeg, decDeg, rollDeg);
}
