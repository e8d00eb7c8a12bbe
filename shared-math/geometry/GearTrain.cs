// A gear train as an exact fraction of tooth counts.

namespace Hourhinge.SharedMath.Geometry;

/// <summary>
/// Turns of the motor for one turn of the nut, as an exact fraction in lowest terms. Immutable.
/// A small geared stepper sold as "64:1" is (32/9)(22/11)(26/9)(31/10) = 25792/405 = 63.684:1
/// (common practice, no source): 0.5 % off if the label is believed.
/// </summary>
public sealed class GearTrain
{
    /// <summary>A train of one pair, or the complete train as one fraction; both numbers &gt; 0.</summary>
    public GearTrain(long numerator, long denominator)
    {
        long divisor = GreatestCommonDivisor(numerator, denominator);
        Numerator = numerator / divisor;
        Denominator = denominator / divisor;
    }

    /// <summary>Motor turns per <see cref="Denominator"/> nut turns.</summary>
    public long Numerator { get; }

    /// <summary>Nut turns for <see cref="Numerator"/> motor turns.</summary>
    public long Denominator { get; }

    /// <summary>The ratio as a decimal.</summary>
    public double Ratio => (double)Numerator / Denominator;

    /// <summary>
    /// Adds a pair: the wheel on the motor's side has <paramref name="driverTeeth"/>, the one on the nut's side
    /// <paramref name="drivenTeeth"/>.
    /// Null when the fraction would no longer fit (either number above 2^40).
    /// </summary>
    public GearTrain WithPair(int drivenTeeth, int driverTeeth)
    {
        // Cancel crosswise first, so that the products stay as small as the result allows.
        long first = GreatestCommonDivisor(Numerator, driverTeeth);
        long second = GreatestCommonDivisor(drivenTeeth, Denominator);
        long limit = 1L << 40;
        if (Numerator / first > limit / (drivenTeeth / second) || Denominator / second > limit / (driverTeeth / first))
        {
            return null;
        }

        return new GearTrain(
            Numerator / first * (drivenTeeth / second),
            Denominator / second * (driverTeeth / first));
    }

    private static long GreatestCommonDivisor(long a, long b)
    {
        while (b != 0)
        {
            long remainder = a % b;
            a = b;
            b = remainder;
        }

        return a;
    }
}
