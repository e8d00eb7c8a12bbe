// The small parts of shared-math: gears, CRC-32, sine, bytes, periodic errors.

using System.Text;
using FsCheck.Xunit;
using Hourhinge.SharedMath.Geometry;
using Hourhinge.SharedMath.Profile;

namespace Hourhinge.Tests.SharedMath.Geometry;

public class GearTrainTests
{
    // Gears of a small stepper sold as 64:1: (32/9)(22/11)(26/9)(31/10) = 63.684:1 (common practice, no source).
    [Fact]
    public void The_gearbox_sold_as_64_to_1_is_63_684_to_1()
    {
        GearTrain train = new GearTrain(32, 9).WithPair(22, 11).WithPair(26, 9).WithPair(31, 10);
        Assert.Equal((25792L, 405L), (train.Numerator, train.Denominator));
        Assert.Equal(63.684, train.Ratio, 3);
        Assert.Equal(2037.886, train.Ratio * 32, 3);
    }

    [Property]
    public bool A_pair_and_its_mirror_cancel_exactly(byte a, byte b)
    {
        GearTrain train = new GearTrain(7, 3).WithPair(a + 1, b + 1).WithPair(b + 1, a + 1);
        return (train.Numerator, train.Denominator) == (7, 3);
    }

    [Fact]
    public void A_train_that_no_longer_fits_is_null_and_not_wrong()
    {
        GearTrain? train = new(1, 1);
        for (int i = 0; i < 40 && train != null; i++)
        {
            train = train.WithPair(97, 89);
        }

        Assert.Null(train);
    }
}

public class Crc32Tests
{
    // Check value of CRC-32/ISO-HDLC (IEEE 802.3) for "123456789": CBF43926.
    [Fact]
    public void Check_value_is_that_of_IEEE_802_3() =>
        Assert.Equal(0xCBF43926, Crc32.Of(Encoding.ASCII.GetBytes("123456789"), 0, 9));

    [Property]
    public bool Only_the_stretch_counts(byte[] before, byte[] bytes, byte[] after) =>
        Crc32.Of([.. before, .. bytes, .. after], before.Length, bytes.Length) == Crc32.Of(bytes, 0, bytes.Length);
}

public class IntegerSineTests
{
    [Property(MaxTest = 5000)]
    public bool Sine_is_that_of_the_platform_within_1e_7(uint turn) => Miss(turn) < 1e-7;

    [Theory]
    [InlineData(0u)]
    [InlineData(0x3FFFFFFFu)]
    [InlineData(0x40000000u)]
    [InlineData(0x7FFFFFFFu)]
    [InlineData(0x80000000u)]
    [InlineData(0xC0000000u)]
    [InlineData(0xFFFFFFFFu)]
    public void Sine_is_right_at_the_seams_of_the_quarters(uint turn) => Assert.True(Miss(turn) < 1e-7);

    private static double Miss(uint turn) =>
        Math.Abs((IntegerSine.Q30(turn) / (double)(1 << 30)) - Math.Sin(turn / 4294967296.0 * 2 * Math.PI));
}

public class LittleEndianTests
{
    [Property]
    public bool Bytes_are_those_of_BitConverter(long value, int small)
    {
        byte[] bytes = new byte[12];
        int at = LittleEndian.Put(bytes, 0, 8, value);
        LittleEndian.Put(bytes, at, 4, small);
        return bytes.SequenceEqual(BitConverter.GetBytes(value).Concat(BitConverter.GetBytes(small)))
            && LittleEndian.Get(bytes, 0, 8) == value
            && LittleEndian.GetInt32(bytes, 8) == small;
    }
}

public class PeriodicErrorTests
{
    // The defining equation itself, n + Σ A (sin(2πn/P + φ) - sin φ) = m, is the judge.
    [Property(MaxTest = 2000)]
    public void Up_to_three_errors_are_inverted_together(ushort seed)
    {
        Random random = new(seed);
        PeriodicError[] errors = [.. Enumerable.Range(0, 1 + random.Next(3)).Select(_ =>
        {
            double period = 0.2 + (random.NextDouble() * 20);
            double steepness = PeriodicError.MaxSteepness * ((random.NextDouble() * 2) - 1);
            return new PeriodicError(period, steepness * period / (2 * Math.PI), random.NextDouble() * 7);
        })];
        double due = random.NextDouble() * 60;
        double n = PeriodicError.NutTurns(errors, due);
        double moved = n + errors.Sum(e => e.AmplitudeNutTurns
            * (Math.Sin((2 * Math.PI * n / e.PeriodNutTurns) + e.PhaseRad) - Math.Sin(e.PhaseRad)));
        Assert.Equal(due, moved, 1e-11);
        Assert.Equal(0, PeriodicError.NutTurns(errors, 0), 12);
    }
}
