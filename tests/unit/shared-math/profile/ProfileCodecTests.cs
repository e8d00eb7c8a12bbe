using FsCheck.Xunit;
using Hourhinge.SharedMath.Compile;
using Hourhinge.SharedMath.Profile;
using Hourhinge.Tests.SharedMath.Compile;
using Hourhinge.Tests.Support;

namespace Hourhinge.Tests.SharedMath.Profile;

/// <summary>Bytes of profiles: as PROFILE.md says, and anything else refused.</summary>
public class ProfileCodecTests
{
    [Theory]
    [InlineData(1)]
    [InlineData(2)]
    public void Encoding_is_byte_for_byte_that_of_the_specification(int version)
    {
        byte[] golden = GoldenBytes(version);
        Assert.Equal(golden, ProfileCodec.Encode(Golden(version)));
        DriveProfile? back = new ProfileCodec().Decode(golden, 0, golden.Length);
        Assert.NotNull(back);
        AssertSame(Golden(version), back);
    }

    [Property(MaxTest = 100)]
    public void A_profile_comes_back_as_it_went(int seed, byte before, byte after)
    {
        DriveProfile profile = SampleDesigns.Blank("rig " + (seed & 0xFFFF));
        if (!new ProfileCompiler(SampleDesigns.Random(seed)).Compile(profile))
        {
            return;
        }

        profile.PullInCountsPerSec = 100000;
        byte[] bytes = ProfileCodec.Encode(profile);
        ProfileCodec codec = new();
        DriveProfile? back = codec.Decode([.. new byte[before], .. bytes, .. new byte[after]], before, bytes.Length);
        Assert.True(back != null, codec.Error);
        AssertSame(profile, back!);
        Assert.Equal(bytes, ProfileCodec.Encode(back!));
    }

    [Fact]
    public void Every_truncation_is_refused()
    {
        byte[] bytes = GoldenBytes();
        for (int count = 0; count < bytes.Length; count++)
        {
            AssertRefused(bytes, count);
            byte[] sized = (byte[])bytes.Clone();
            Repair(sized, count);
            AssertRefused(sized, count);
        }
    }

    [Fact]
    public void Every_flip_of_a_single_bit_is_refused()
    {
        byte[] bytes = GoldenBytes();
        for (int bit = 0; bit < bytes.Length * 8; bit++)
        {
            bytes[bit / 8] ^= (byte)(1 << (bit % 8));
            AssertRefused(bytes, bytes.Length);
            bytes[bit / 8] ^= (byte)(1 << (bit % 8));
        }
    }

    [Property(MaxTest = 3000)]
    public bool Arbitrary_bytes_are_refused_without_an_exception(byte[] bytes)
    {
        ProfileCodec codec = new();
        return codec.Decode(bytes, 0, bytes.Length) == null && codec.Error != null;
    }

    [Property(MaxTest = 2000)]
    public void Arbitrary_bytes_behind_a_good_frame_are_refused_without_an_exception(byte[] body, byte kind,
        byte nameLength)
    {
        byte[] bytes = [.. GoldenBytes().Take(68), (byte)(nameLength % 40), .. body, .. new byte[12]];
        bytes[5] = kind;
        Repair(bytes, bytes.Length);
        ProfileCodec codec = new();
        DriveProfile? profile = codec.Decode(bytes, 0, bytes.Length);
        Assert.True(profile != null || codec.Error != null);
    }

    // Mutations whose CRC and length are right again reach the checks behind the CRC.
    [Fact]
    public void Mutations_with_a_repaired_CRC_are_refused_or_keep_every_promise()
    {
        byte[][] seeds =
            [GoldenBytes(), GoldenBytes(1), ProfileCodec.Encode(SampleDesigns.Compile(SampleDesigns.Bench(90)))];
        int passed = 0;
        int refused = 0;
        for (int seed = 0; seed < 20000; seed++)
        {
            Random random = new(seed);
            byte[] bytes = ByteMutations.Mutate(seeds[seed % 3], random);
            if (bytes.Length >= 12)
            {
                Repair(bytes, bytes.Length);
            }

            DriveProfile? profile = new ProfileCodec().Decode(bytes, 0, bytes.Length);
            if (profile == null)
            {
                refused++;
                continue;
            }

            passed++;
            ProfileSafetyTests.CheckInvariants(profile, random, 10);
        }

        Assert.True(passed > 500 && refused > 5000,
            $"{passed} passed, {refused} refused: the mutations test one side only");
    }

    [Theory]
    [InlineData(0, "not a drive profile")]
    [InlineData(4, "version")]
    [InlineData(8, "length field")]
    [InlineData(12, "CRC-32")]
    public void A_refusal_says_what_is_wrong(int offset, string word)
    {
        byte[] bytes = GoldenBytes();
        bytes[offset] ^= 0xFF;
        ProfileCodec codec = new();
        Assert.Null(codec.Decode(bytes, 0, bytes.Length));
        Assert.Contains(word, codec.Error, StringComparison.Ordinal);
    }

    [Theory]
    [InlineData(60, "reserved bytes")]
    [InlineData(69, "printable ASCII")]
    [InlineData(86, "section")]
    public void A_good_CRC_does_not_excuse_bad_contents(int offset, string word)
    {
        byte[] bytes = GoldenBytes();
        bytes[offset] = 0xFE;
        Repair(bytes, bytes.Length);
        ProfileCodec codec = new();
        Assert.Null(codec.Decode(bytes, 0, bytes.Length));
        Assert.Contains(word, codec.Error, StringComparison.Ordinal);
    }

    /// <summary>The bytes that make_golden_profile.py wrote.</summary>
    internal static byte[] GoldenBytes(int version = 2) => Convert.FromHexString(string.Concat(File.ReadAllLines(
        RepositoryFile.Path($"tests/reference/shared-math/golden_profile_{version}.hex"))));

    private static DriveProfile Golden(int version) => new()
    {
        Version = version,
        RigName = "Golden rig 1/4-20",
        RigDigest = 0x89ABCDEF,
        DriveKind = DriveProfile.DcClosedLoop,
        Flags = DriveProfile.MotorReversed | DriveProfile.HomeSwitchFitted | DriveProfile.HingeCloses,
        Counts = 25792 * 32,
        NutTurns = 405,
        RewindCountsPerSec = 3000,
        RampCountsPerSec2 = 1500,
        PullInCountsPerSec = 600,
        ApproachCountsPerSec = 60,
        BackOffCounts = 40,
        ClockTrimPpb = -12345,
        MicroArcsecPerCount = 4567890,
        DurationMs = [1800000, 900000],
        Start = [0, 62845794],
        Linear = [62914560, 31457280],
        Square = [-70000, 5],
        Cube = [1234, -6],
        PeriodQ16 = [3200L << 16, 1600L << 16],
        AmplitudeQ16 = [-98304, 777],
        Phase = [0x40000000, 0xFFFFFFFF],
        Dc = new DcSettings
        {
            CurveMillivolts = 12000,
            BreakAwayDuty = 1500,
            ProportionalQ8 = 256,
            IntegralQ8 = 64,
            MinMillivolts = 9000,
            CurveDuty = [800, 9000],
            CurveMilliCountsPerSec = [10000, 250000],
        },
    };

    private static void AssertRefused(byte[] bytes, int count)
    {
        ProfileCodec codec = new();
        Assert.Null(codec.Decode(bytes, 0, count));
        Assert.False(string.IsNullOrEmpty(codec.Error));
    }

    // Length field and CRC made right for the first `count` bytes.
    private static void Repair(byte[] bytes, int count)
    {
        if (count >= 12)
        {
            LittleEndian.Put(bytes, 8, 4, count);
            LittleEndian.Put(bytes, count - 4, 4, Crc32.Of(bytes, 0, count - 4));
        }
    }

    private static void AssertSame(DriveProfile expected, DriveProfile actual)
    {
        foreach (System.Reflection.FieldInfo field in typeof(DriveProfile).GetFields()
            .Where(f => !f.IsStatic && f.Name != "Dc"))
        {
            Assert.Equal(field.GetValue(expected), field.GetValue(actual));
        }

        Assert.Equal(expected.Dc == null, actual.Dc == null);
        foreach (System.Reflection.FieldInfo field in typeof(DcSettings).GetFields().Where(_ => expected.Dc != null))
        {
            Assert.Equal(field.GetValue(expected.Dc), field.GetValue(actual.Dc));
        }
    }
}
