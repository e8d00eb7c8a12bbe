using System.Numerics;
using FsCheck.Xunit;
using Hourhinge.SharedMath.Profile;
using Hourhinge.Tests.SharedMath.Compile;

namespace Hourhinge.Tests.SharedMath.Profile;

/// <summary>What ProfileSafety lets through is within 64 bits, rising, and slower than pull-in, at the extremes
/// too.</summary>
public class ProfileSafetyTests
{
    [Property(MaxTest = 3000)]
    public void What_passes_never_overflows_rises_and_keeps_below_pull_in(int seed)
    {
        DriveProfile profile = Extreme(new Random(seed));
        if (ProfileSafety.Check(profile) == null)
        {
            CheckInvariants(profile, new Random(seed), 60);
        }
    }

    [Fact]
    public void The_extremes_that_pass_are_really_extreme()
    {
        int passed = 0;
        long largestLinear = 0;
        long largestRise = 0;
        int withTerms = 0;
        for (int seed = 0; seed < 3000; seed++)
        {
            DriveProfile profile = Extreme(new Random(seed));
            if (ProfileSafety.Check(profile) == null)
            {
                passed++;
                withTerms += profile.PeriodQ16.Length > 0 ? 1 : 0;
                largestLinear = Math.Max(largestLinear, profile.Linear.Max());
                largestRise = Math.Max(largestRise, profile.Linear[0] + profile.Square[0] + profile.Cube[0]);
            }
        }

        Assert.True(passed > 300, $"only {passed} of 3000 pass");
        Assert.True(withTerms > 50, $"only {withTerms} with periodic terms");
        Assert.True(largestLinear > DriveProfile.CoefficientLimit - 100);
        Assert.True(largestRise > DriveProfile.CoefficientLimit * 3 / 2, $"{largestRise}");
    }

    // Every coefficient at its largest at once: linear 2^32-1, square and cube 2^31-1, u = 1.
    [Fact]
    public void The_largest_coefficients_of_all_do_not_overflow()
    {
        DriveProfile profile =
            Segmented(DriveProfile.MaxSegmentMs, DriveProfile.CoefficientLimit - 1, 1L << 36, -(1L << 34));
        profile.PullInCountsPerSec = 100000;
        Assert.Null(ProfileSafety.Check(profile));
        CheckInvariants(profile, new Random(1), 200);
    }

    [Theory]
    [InlineData(0, -1, 0, "coefficient")]
    [InlineData(1000, -600, 0, "falls")]
    [InlineData(1000, 0, -400, "falls")]
    [InlineData(1000, -3000, 2900, "falls")]
    [InlineData(66000000, 0, 0, "pull-in")]
    [InlineData(1000, 33000000, 0, "pull-in")]
    public void A_falling_or_racing_segment_is_refused(long linear, int square, int cube, string word)
    {
        DriveProfile profile = Segmented(1000, linear - (word == "coefficient" ? 1 : 0), square, cube);
        profile.PullInCountsPerSec = 1000;
        profile.ApproachCountsPerSec = 10;
        Assert.Contains(word, ProfileSafety.Check(profile), StringComparison.Ordinal);
    }

    // Both ends of the segment are nearly at rest; the slope's largest value, square/2, is at its middle. The pull-in
    // rate of 1000 counts/s is a slope of 65.536e6 over this segment.
    [Theory]
    [InlineData(129000000, -86000000, true)]
    [InlineData(135000000, -90000000, false)]
    public void A_segment_that_is_too_fast_only_in_its_middle_is_refused(int square, int cube, bool passes)
    {
        DriveProfile profile = Segmented(1000, 1000, square, cube);
        profile.PullInCountsPerSec = 1000;
        profile.ApproachCountsPerSec = 10;
        string? error = ProfileSafety.Check(profile);
        Assert.Equal(passes, error == null);
        Assert.True(passes || error!.Contains("pull-in", StringComparison.Ordinal), error);
    }

    [Theory]
    [InlineData(1)]
    [InlineData(-1)]
    [InlineData(70000)]
    public void A_jump_between_segments_is_refused(long jump)
    {
        DriveProfile profile = SampleDesigns.Compile(SampleDesigns.Bench(120));
        Assert.True(profile.Start.Length > 1);
        Assert.Null(ProfileSafety.Check(profile));
        profile.Start[1] += jump;
        Assert.Contains("jumps", ProfileSafety.Check(profile), StringComparison.Ordinal);
    }

    [Fact]
    public void Periodic_terms_that_would_race_past_pull_in_are_refused()
    {
        DriveProfile profile = Segmented(1000, 60 * DriveProfile.OneCount, 0, 0);
        profile.PullInCountsPerSec = 100;
        profile.ApproachCountsPerSec = 10;
        profile.PeriodQ16 = [100 * DriveProfile.OneCount];
        profile.AmplitudeQ16 = [12 * DriveProfile.OneCount];
        profile.Phase = [0];
        Assert.Contains("pull-in", ProfileSafety.Check(profile), StringComparison.Ordinal);
        profile.AmplitudeQ16 = [2 * DriveProfile.OneCount];
        Assert.Null(ProfileSafety.Check(profile));
    }

    [Theory]
    [InlineData(long.MinValue)]
    [InlineData(-ProfileSafety.AmplitudeLimit)]
    [InlineData(ProfileSafety.AmplitudeLimit)]
    [InlineData(long.MaxValue)]
    public void A_periodic_term_beyond_the_solver_s_range_is_refused(long amplitudeQ16)
    {
        DriveProfile profile = Segmented(1000, 60 * DriveProfile.OneCount, 0, 0);
        profile.PeriodQ16 = [ProfileSafety.PeriodLimit - 1];
        profile.AmplitudeQ16 = [amplitudeQ16];
        profile.Phase = [0];
        Assert.Contains("periodic term is out of range", ProfileSafety.Check(profile), StringComparison.Ordinal);
        byte[] bytes = ProfileCodec.Encode(profile);
        Assert.Null(new ProfileCodec().Decode(bytes, 0, bytes.Length));
    }

    public static TheoryData<string, string> BadFields => new()
    {
        { nameof(DriveProfile.DriveKind), "drive kind" },
        { nameof(DriveProfile.Flags), "flags" },
        { nameof(DriveProfile.Counts), "counts per nut turn" },
        { nameof(DriveProfile.NutTurns), "counts per nut turn" },
        { nameof(DriveProfile.RewindCountsPerSec), "rewind" },
        { nameof(DriveProfile.RampCountsPerSec2), "rewind" },
        { nameof(DriveProfile.PullInCountsPerSec), "rewind" },
        { nameof(DriveProfile.ApproachCountsPerSec), "rewind" },
        { nameof(DriveProfile.BackOffCounts), "rewind" },
        { nameof(DriveProfile.ClockTrimPpb), "clock trim" },
        { nameof(DriveProfile.MicroArcsecPerCount), "angle of one count" },
    };

    [Theory]
    [MemberData(nameof(BadFields))]
    public void A_field_out_of_range_is_refused_by_name(string field, string word)
    {
        foreach (long value in new long[] { int.MinValue, int.MaxValue, -1 })
        {
            DriveProfile profile = SampleDesigns.Compile(SampleDesigns.Bench());
            System.Reflection.FieldInfo info = typeof(DriveProfile).GetField(field)!;
            long limit = info.FieldType == typeof(long) && value > 0 ? ProfileSafety.MaxCounts + 1 : value;
            if ((field == nameof(DriveProfile.ClockTrimPpb) && value == -1)
                || (field == nameof(DriveProfile.MicroArcsecPerCount) && value > 0))
            {
                continue;
            }

            info.SetValue(profile, info.FieldType == typeof(long) ? limit : (object)(int)value);
            Assert.Contains(word, ProfileSafety.Check(profile), StringComparison.Ordinal);
        }
    }

    /// <summary>The promises of a profile that was let through; also used by the codec's mutation tests.</summary>
    internal static void CheckInvariants(DriveProfile p, Random random, int instants)
    {
        ProfileEvaluator evaluator = new(p);
        Assert.Equal(0, evaluator.PositionQ16(0));
        long previous = 0;
        long previousUs = 0;
        long[] edges = [.. Edges(p)];
        long[] times =
            [.. Enumerable.Range(0, instants).Select(_ => random.NextInt64(evaluator.EndUs + 1)).Concat(edges).Order()];
        foreach (long us in times)
        {
            long position = evaluator.PositionQ16(us);
            BigInteger smooth = Exactly(p, us);
            if (p.Version == DriveProfile.ExplicitTerms)
            {
                Assert.Equal(smooth + Periodic(p, smooth) - Periodic(p, 0), (BigInteger)position);
            }
            else
            {
                BigInteger excess = position + Periodic(p, position) - Periodic(p, 0) - smooth;
                Assert.True(BigInteger.Abs(excess) <= Tolerance(p), $"{excess}/65536 count beside the root at {us}");
            }

            Assert.True(position >= previous - 64 - Tolerance(p), $"falls by {previous - position} at {us}");
            BigInteger most =
                ((BigInteger)p.PullInCountsPerSec * (us - previousUs) * DriveProfile.OneCount / 1000000) + 80
                + Tolerance(p);
            Assert.True(position - previous <= most,
                $"rises by {position - previous} in {us - previousUs} µs, pull-in {p.PullInCountsPerSec}");
            previous = position;
            previousUs = us;
        }
    }

    // The solver stops within 2 units; one unit of angle, 2^-30 of a turn, is 6e-9 of an amplitude.
    private static long Tolerance(DriveProfile p) =>
        p.PeriodQ16.Length == 0 ? 0 : 8 + (p.AmplitudeQ16.Sum(Math.Abs) / 20000000);

    private static IEnumerable<long> Edges(DriveProfile p)
    {
        long at = 0;
        foreach (int ms in p.DurationMs)
        {
            at += ms * 1000L;
            yield return at - 1;
            yield return at;
        }
    }

    // The evaluator's smooth position in integers that cannot overflow.
    private static BigInteger Exactly(DriveProfile p, long us)
    {
        long at = 0;
        int s = 0;
        while (s < p.DurationMs.Length - 1 && us >= at + (p.DurationMs[s] * 1000L))
        {
            at += p.DurationMs[s++] * 1000L;
        }

        BigInteger u = ((BigInteger)(us - at) << 30) / (p.DurationMs[s] * 1000L);
        BigInteger smooth =
            (((((((((BigInteger)p.Cube[s] * u) >> 30) + p.Square[s]) * u) >> 30) + p.Linear[s]) * u) >> 30)
            + p.Start[s];
        return smooth;
    }

    // Version 1 gives the position; version 2 gives the smooth position that a position belongs to.
    private static BigInteger Periodic(DriveProfile p, BigInteger at)
    {
        BigInteger sum = 0;
        for (int i = 0; i < p.PeriodQ16.Length; i++)
        {
            int shift = 0;
            while (p.PeriodQ16[i] >> shift >= 1L << 32)
            {
                shift++;
            }

            BigInteger inPeriod = BigInteger.Remainder(at, p.PeriodQ16[i]) >> shift;
            BigInteger angle = (((inPeriod << 30) / (p.PeriodQ16[i] >> shift)) << 2) + p.Phase[i];
            sum += (p.AmplitudeQ16[i] * (BigInteger)IntegerSine.Q30((uint)(angle & uint.MaxValue))) >> 30;
        }

        return sum;
    }

    private static DriveProfile Segmented(int ms, long linear, long square, long cube)
    {
        DriveProfile p = SampleDesigns.Blank();
        p.Counts = 200;
        p.NutTurns = 1;
        p.MicroArcsecPerCount = 1000000;
        p.DurationMs = [ms];
        p.Start = [0];
        p.Linear = [linear];
        p.Square = [square];
        p.Cube = [cube];
        return p;
    }

    // Coefficients that crowd at the limits; about a fifth of these profiles are let through.
    private static DriveProfile Extreme(Random r)
    {
        int segments = 1 + r.Next(r.Next(8) == 0 ? 128 : 2);
        DriveProfile p = Segmented(1, 1, 0, 0);
        p.PullInCountsPerSec = r.Next(4) == 0 ? 1 + r.Next(2000) : 100000;
        p.ApproachCountsPerSec = 1;
        p.DurationMs = new int[segments];
        p.Start = new long[segments];
        p.Linear = new long[segments];
        p.Square = new long[segments];
        p.Cube = new long[segments];
        long end = 0;
        for (int i = 0; i < segments; i++)
        {
            long limit = (r.Next(2) == 0 ? 1L << 32 : DriveProfile.CoefficientLimit) - 1;
            p.DurationMs[i] = r.Next(3) == 0
                ? 1 + r.Next(DriveProfile.MaxSegmentMs)
                : DriveProfile.MaxSegmentMs - r.Next(2);
            p.Start[i] = end;
            p.Linear[i] = Near(r, limit);
            p.Square[i] = Near(r, limit / 3) * (r.Next(3) == 0 ? -1 : 1);
            p.Cube[i] = Near(r, limit / 3) * (r.Next(3) == 0 ? -1 : 1);
            end += p.Linear[i] + p.Square[i] + p.Cube[i];
        }

        p.Version = r.Next(2) == 0 ? DriveProfile.ExplicitTerms : DriveProfile.ImplicitTerms;
        int terms = r.Next(3) == 0 ? r.Next(10) : 0;
        p.PeriodQ16 = [.. Enumerable.Range(0, terms).Select(_ => r.Next(2) == 0
            ? DriveProfile.OneCount + r.Next(1000)
            : (1L << r.Next(20, 53)) - 1 - r.Next(5))];
        p.AmplitudeQ16 = [.. p.PeriodQ16.Select(period =>
            Math.Min(ProfileSafety.AmplitudeLimit - 1, r.NextInt64(period / 20)) * (r.Next(2) == 0 ? -1 : 1))];
        p.Phase = [.. p.PeriodQ16.Select(_ => (uint)r.NextInt64(1L << 32))];
        return p;
    }

    private static long Near(Random r, long limit) => r.Next(3) switch
    {
        0 => limit - r.Next(3),
        1 => r.NextInt64(limit),
        _ => r.Next(2),
    };
}
