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
    // Outside judge: Newton's method on n + A sin(2πn/P + φ) = m + A sin φ.
    [Property(MaxTest = 2000)]
    public bool Correction_lands_where_the_smooth_motion_is_due(ushort seed)
    {
        Random random = new(seed);
        double period = 0.2 + (random.NextDouble() * 20);
        double e = 0.1 * ((random.NextDouble() * 2) - 1);
        double amplitude = e * period / (2 * Math.PI);
        double phase = random.NextDouble() * 2 * Math.PI;
        double due = random.NextDouble() * 60;
        PeriodicError error = new(period, amplitude, phase);

        double n = due;
        for (int i = 0; i < 50; i++)
        {
            double angle = (2 * Math.PI * n / period) + phase;
            double miss = n + (amplitude * (Math.Sin(angle) - Math.Sin(phase))) - due;
            n -= miss / (1 + (amplitude * 2 * Math.PI / period * Math.Cos(angle)));
        }

        double counts = error.CorrectionCounts(due * 3200, 3200);
        double allowedTurns = Math.Pow(e, 4) / 3 * period / (2 * Math.PI) * 2;
        return Math.Abs((counts / 3200) - (n - due)) < allowedTurns + 1e-9;
    }

    [Fact]
    public void Correction_is_nothing_at_the_start() =>
        Assert.Equal(0, new PeriodicError(1, 0.02, 1.2).CorrectionCounts(0, 3200), 12);
}
