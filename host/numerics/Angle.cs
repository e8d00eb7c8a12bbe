// One type for every angle, so that degrees, hours and arcseconds cannot be mixed up.
// Here: storage in radians, conversions, wrapping. Not here: directions on the sky (Directions.cs).
namespace Hourhinge.Numerics;

/// <summary>An angle of any size. Immutable; held in radians as a double (1e-9 arcsec at one turn).</summary>
/// <param name="Radians">The angle in radians, not wrapped.</param>
public readonly record struct Angle(double Radians) : IComparable<Angle>
{
    private const double DegreesPerRadian = 180.0 / Math.PI;

    public static Angle Zero => default;

    public double Degrees => Radians * DegreesPerRadian;
    public double Hours => Degrees / 15.0;
    public double Arcminutes => Degrees * 60.0;
    public double Arcseconds => Degrees * 3600.0;

    public static Angle FromRadians(double radians) => new Angle(radians);
    public static Angle FromDegrees(double degrees) => new Angle(degrees / DegreesPerRadian);
    public static Angle FromHours(double hours) => FromDegrees(hours * 15.0);
    public static Angle FromArcminutes(double arcminutes) => FromDegrees(arcminutes / 60.0);
    public static Angle FromArcseconds(double arcseconds) => FromDegrees(arcseconds / 3600.0);

    /// <summary>Hours, minutes and seconds of right ascension or hour angle.</summary>
    public static Angle FromHms(int hours, int minutes, double seconds) =>
        FromHours(hours + (minutes / 60.0) + (seconds / 3600.0));

    /// <summary>Degrees, minutes and seconds of arc. The sign is apart because -0 degrees is not an integer.</summary>
    public static Angle FromDms(bool negative, int degrees, int minutes, double seconds)
    {
        double size = degrees + (minutes / 60.0) + (seconds / 3600.0);
        return FromDegrees(negative ? -size : size);
    }

    /// <summary>The same direction in [0, 360) degrees: right ascension, azimuth, position angle.</summary>
    public Angle Wrapped()
    {
        double turn = Radians % Math.Tau;
        return new Angle(turn < 0 ? turn + Math.Tau : turn);
    }

    /// <summary>The same direction in [-180, 180) degrees: hour angle, longitude, differences.</summary>
    public Angle WrappedSigned() => new Angle(new Angle(Radians + Math.PI).Wrapped().Radians - Math.PI);

    public double Sin() => Math.Sin(Radians);
    public double Cos() => Math.Cos(Radians);
    public double Tan() => Math.Tan(Radians);
    public Angle Abs() => new Angle(Math.Abs(Radians));

    public int CompareTo(Angle other) => Radians.CompareTo(other.Radians);

    public Angle Add(Angle other) => this + other;
    public Angle Subtract(Angle other) => this - other;
    public Angle Multiply(double factor) => this * factor;
    public Angle Divide(double divisor) => this / divisor;
    public Angle Negate() => -this;

    public static Angle operator +(Angle a, Angle b) => new Angle(a.Radians + b.Radians);
    public static Angle operator -(Angle a, Angle b) => new Angle(a.Radians - b.Radians);
    public static Angle operator -(Angle a) => new Angle(-a.Radians);
    public static Angle operator *(Angle a, double factor) => new Angle(a.Radians * factor);
    public static Angle operator *(double factor, Angle a) => a * factor;
    public static Angle operator /(Angle a, double divisor) => new Angle(a.Radians / divisor);
    public static bool operator <(Angle a, Angle b) => a.Radians < b.Radians;
    public static bool operator >(Angle a, Angle b) => a.Radians > b.Radians;
    public static bool operator <=(Angle a, Angle b) => a.Radians <= b.Radians;
    public static bool operator >=(Angle a, Angle b) => a.Radians >= b.Radians;
}
