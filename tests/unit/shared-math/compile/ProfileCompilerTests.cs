using FsCheck.Xunit;
using Hourhinge.SharedMath.Compile;
using Hourhinge.SharedMath.Geometry;
using Hourhinge.SharedMath.Profile;

namespace Hourhinge.Tests.SharedMath.Compile;

/// <summary>The proved bound against the closed form, over random drives.</summary>
public class ProfileCompilerTests
{
    [Property(MaxTest = 150)]
    public void Evaluator_keeps_within_the_proved_bound_and_the_bound_within_a_hundredth_count(int seed)
    {
        DriveDesign design = SampleDesigns.Random(seed);
        DriveProfile profile = SampleDesigns.Blank();
        ProfileCompiler compiler = new(design);
        if (!compiler.Compile(profile))
        {
            Assert.False(string.IsNullOrEmpty(compiler.Error));
            return;
        }

        Assert.InRange(compiler.ErrorBoundCounts, 0, ProfileCompiler.MaxErrorCounts);
        ProfileEvaluator evaluator = new(profile);
        Random random = new(seed);
        Check(0);
        Check(evaluator.EndUs);
        for (long us = 0; us <= evaluator.EndUs; us += 1000000)
        {
            Check(us);
        }

        for (int i = 0; i < 10000; i++)
        {
            Check(random.NextInt64(evaluator.EndUs + 1));
        }

        void Check(long us)
        {
            double got = evaluator.PositionQ16(us) / (double)DriveProfile.OneCount;
            double miss = Math.Abs(got - design.CountsAt(us * 1e-6));
            Assert.True(miss <= compiler.ErrorBoundCounts,
                $"seed {seed}, {us} µs: {miss} counts, bound {compiler.ErrorBoundCounts}");
        }
    }

    [Fact]
    public void Most_random_drives_compile_so_that_the_properties_mean_something()
    {
        ProfileCompiler[] compilers =
            [.. Enumerable.Range(0, 200).Select(seed => new ProfileCompiler(SampleDesigns.Random(seed)))];
        int compiled = compilers.Count(compiler => compiler.Compile(SampleDesigns.Blank()));
        string refusals = string.Join('\n', compilers.GroupBy(c => c.Error).Select(g => $"{g.Count()} {g.Key}"));
        Assert.True(compiled >= 150, refusals);
    }

    [Property(MaxTest = 60)]
    public void Position_starts_at_zero_rises_and_ends_where_the_closed_form_ends(int seed)
    {
        DriveDesign design = SampleDesigns.Random(seed);
        DriveProfile profile = SampleDesigns.Blank();
        if (!new ProfileCompiler(design).Compile(profile))
        {
            return;
        }

        ProfileEvaluator evaluator = new(profile);
        Assert.Equal(0, evaluator.PositionQ16(0));
        Assert.Equal(0, evaluator.PositionQ16(-5000000));
        Assert.Equal(design.TravelSec, evaluator.EndUs * 1e-6, 0.0011);
        Assert.Equal(evaluator.EndQ16, evaluator.PositionQ16(evaluator.EndUs + 1));
        Assert.Equal(evaluator.EndQ16, evaluator.PositionQ16(long.MaxValue / 2));

        // Truncation may step back by a few 65536ths of a count, never by a count.
        Random random = new(seed);
        long[] times = [.. Enumerable.Range(0, 5000).Select(_ => random.NextInt64(evaluator.EndUs)).Order()];
        long previous = 0;
        foreach (long us in times)
        {
            long position = evaluator.PositionQ16(us);
            Assert.True(position >= previous - 16, $"falls by {previous - position}/65536 count at {us} µs");
            previous = Math.Max(previous, position);
        }
    }

    [Property(MaxTest = 60)]
    public void Order_of_questions_does_not_change_an_answer(int seed)
    {
        DriveProfile profile = SampleDesigns.Compile(SampleDesigns.Bench(90));
        ProfileEvaluator used = new(profile);
        Random random = new(seed);
        for (int i = 0; i < 50; i++)
        {
            long us = random.NextInt64(-1000, used.EndUs + 1000);
            Assert.Equal(new ProfileEvaluator(profile).PositionQ16(us), used.PositionQ16(us));
        }
    }

    [Property(MaxTest = 60)]
    public void Time_of_a_position_is_the_first_moment_that_reaches_it(int seed)
    {
        DriveProfile profile = SampleDesigns.Blank();
        if (!new ProfileCompiler(SampleDesigns.Random(seed)).Compile(profile))
        {
            return;
        }

        ProfileEvaluator evaluator = new(profile);
        Random random = new(seed);
        for (int i = 0; i < 100; i++)
        {
            long q16 = random.NextInt64(evaluator.EndQ16);
            long us = evaluator.TimeAtQ16(q16);
            Assert.True(evaluator.PositionQ16(us) >= q16);
            Assert.True(us == 0 || evaluator.PositionQ16(us - 1) < q16);
        }

        Assert.Equal(0, evaluator.TimeAtQ16(0));
        Assert.Equal(evaluator.EndUs, evaluator.TimeAtQ16(evaluator.EndQ16 + DriveProfile.OneCount));
    }

    [Fact]
    public void A_drive_too_fine_for_128_segments_is_refused()
    {
        DriveDesign design = new(
            new FixedRodHinge(400, 0, 0), 0, AngleUnits.FromDeg(59), SkyRate.SiderealRadPerSec, 0.5,
            new GearTrain(200 * 256 * 1000, 1));
        ProfileCompiler compiler = new(design);
        Assert.False(compiler.Compile(SampleDesigns.Blank()));
        Assert.Contains("128 segments", compiler.Error, StringComparison.Ordinal);
    }

    [Fact]
    public void A_drive_without_travel_is_refused()
    {
        DriveDesign design =
            new(new FixedRodHinge(200, 0, 0), 0.1, 0.1, SkyRate.SiderealRadPerSec, 1, new GearTrain(200, 1));
        ProfileCompiler compiler = new(design);
        Assert.False(compiler.Compile(SampleDesigns.Blank()));
        Assert.Contains("travel", compiler.Error, StringComparison.Ordinal);
    }

    [Fact]
    public void Periodic_errors_that_would_turn_the_nut_back_are_refused()
    {
        DriveDesign design = SampleDesigns.Bench();
        design.Periodic = [.. Enumerable.Range(0, 4).Select(_ => new PeriodicError(1, 0.045, 0))];
        ProfileCompiler compiler = new(design);
        Assert.False(compiler.Compile(SampleDesigns.Blank()));
        Assert.Contains("turn back", compiler.Error, StringComparison.Ordinal);
    }

    [Fact]
    public void A_typical_profile_fits_in_a_kibibyte()
    {
        DriveDesign design = new(
            new SwivelledRodHinge(290.27, 290.27, 0), AngleUnits.FromDeg(1), AngleUnits.FromDeg(23.5),
            SkyRate.SiderealRadPerSec, 1.27, new GearTrain(3200, 1));
        Assert.InRange(ProfileCodec.Encode(SampleDesigns.Compile(design)).Length, 77, 1024);
    }

    // Amplitudes in arcsec of a hinge with a 290 mm arm on a 1.27 mm pitch; before, two terms left 2.3".
    [Theory]
    [InlineData(16)]
    [InlineData(256)]
    public void Several_periodic_errors_cancel_together(int microsteps)
    {
        const double Arm = 290;
        const double Pitch = 1.27;
        DriveDesign design = new(
            new SwivelledRodHinge(Arm, Arm, 0), AngleUnits.FromDeg(2), AngleUnits.FromDeg(22),
            SkyRate.SiderealRadPerSec, Pitch, new GearTrain(200L * microsteps, 1));
        double turnsPerArcsec = Arm / AngleUnits.ArcsecPerRad / Pitch;
        PeriodicError[] errors =
        [
            new(1, 12 * turnsPerArcsec, 0.4), new(0.302, 5 * turnsPerArcsec, 2), new(7.3, 9 * turnsPerArcsec, 5),
        ];
        design.Periodic = errors;
        DriveProfile profile = SampleDesigns.Blank();
        ProfileCompiler compiler = new(design);
        Assert.True(compiler.Compile(profile), compiler.Error);
        Assert.InRange(compiler.ErrorBoundCounts, 0, 0.01);
        ProfileEvaluator evaluator = new(profile);
        for (int sec = 0; sec < (int)design.TravelSec; sec += 3)
        {
            double turns = evaluator.PositionQ16(sec * 1000000L) / 65536.0 / (200 * microsteps);
            double moved = turns + errors.Sum(e => e.AmplitudeNutTurns
                * (Math.Sin((2 * Math.PI * turns / e.PeriodNutTurns) + e.PhaseRad) - Math.Sin(e.PhaseRad)));
            Assert.Equal(design.SmoothCountsAt(sec), moved * 200 * microsteps, 0.01);
        }
    }

    // An ideal constant-rate rod over 12 million counts is one line: a few segments.
    [Fact]
    public void A_fine_constant_rate_rod_compiles()
    {
        DriveDesign design = new(
            new SwivelledRodHinge(290, 290, 290), AngleUnits.FromDeg(2), AngleUnits.FromDeg(32),
            SkyRate.SiderealRadPerSec, 0.635, new GearTrain(51200, 1));
        DriveProfile profile = SampleDesigns.Blank();
        ProfileCompiler compiler = new(design);
        Assert.True(compiler.Compile(profile), compiler.Error);
        Assert.InRange(profile.DurationMs.Length, 2, 20);
        Assert.True(new ProfileEvaluator(profile).EndQ16 >> 16 > 12000000);
    }
}
