// Random rigs that a maker may build: a refusal names a key and a value that works, or says what the mechanics cannot
// do.

using System.Globalization;
using System.Text.RegularExpressions;
using Hourhinge.SharedMath.Compile;
using Hourhinge.SharedMath.Geometry;
using Hourhinge.SharedMath.Rig;
using Hourhinge.Tests.SharedMath.Geometry;
using Xunit.Abstractions;

namespace Hourhinge.Tests.SharedMath.Compile;

public sealed partial class RandomRigTests(ITestOutputHelper output)
{
    [Fact]
    public void A_rig_within_the_mechanics_compiles()
    {
        int compiled = 0;
        int mended = 0;
        var refusals = new List<string>();
        for (int seed = 0; seed < 400; seed++)
        {
            RigParameters rig = Draw(new Random(seed));
            RigCompiler compiler = new();
            if (compiler.Compile(rig, null) != null)
            {
                compiled++;
                Assert.InRange(compiler.ErrorBoundCounts, 0, 0.01);
                continue;
            }

            refusals.Add($"{seed}: {compiler.Error}");
            if (Remedy().Match(compiler.Error) is { Success: true } remedy)
            {
                rig.Values[RigParameters.Microsteps] = int.Parse(remedy.Groups[1].Value, CultureInfo.InvariantCulture);
                Assert.True(compiler.Compile(rig, null) != null, $"{refusals[^1]} But then: {compiler.Error}");
                mended++;
            }
        }

        output.WriteLine($"{compiled} compiled, {refusals.Count} refused, {mended} of them with microsteps that fit");
        refusals.ForEach(output.WriteLine);
        Assert.All(refusals, r => Assert.Matches("motor.microsteps = |less gear reduction|steeper than", r));
        Assert.True(compiled > 300, $"{compiled}");
    }

    // 256 microsteps on a plain quarter-twenty rod, with a nut error of 7.5 µm.
    [Theory]
    [InlineData(RigParameters.StraightRod, 1)]
    [InlineData(RigParameters.BentRod, 1)]
    [InlineData(RigParameters.FixedRod, 1)]
    [InlineData(RigParameters.DriveTipFixed, 1)]
    [InlineData(RigParameters.CameraTipStraight, 1)]
    [InlineData(RigParameters.StraightRod, 5)]
    public void Finest_microsteps_and_a_rough_nut_compile(int form, double periodNutTurns)
    {
        RigParameters rig = new();
        rig.Values[RigParameters.Form] = form;
        rig.Values[RigParameters.Microsteps] = 256;
        rig.Values[RigParameters.PullIn] = 20000;
        rig.Set(RigParameters.Periodic, periodNutTurns);
        rig.Set(RigParameters.Periodic + 1, 7.5);
        RigCompiler compiler = new();
        Assert.True(compiler.Compile(rig, null) != null, compiler.Error);
    }

    [Theory]
    [InlineData(400, 59)]
    [InlineData(900, 59)]
    public void A_remedy_that_is_named_works(int radiusMm, double degrees)
    {
        RigParameters rig = new();
        rig.Values[RigParameters.Form] = RigParameters.FixedRod;
        rig.Set(RigParameters.Radius, radiusMm);
        rig.Set(RigParameters.Shortest, 0);
        rig.Set(RigParameters.Longest, Math.Tan(degrees * Math.PI / 180) * radiusMm);
        rig.Values[RigParameters.GearNumerator] = 30;
        rig.Values[RigParameters.Microsteps] = 256;
        rig.Values[RigParameters.PullIn] = 100000;
        RigCompiler compiler = new();
        while (compiler.Compile(rig, null) != null)
        {
            rig.Values[RigParameters.GearNumerator] *= 2;
        }

        Match remedy = Remedy().Match(compiler.Error);
        Assert.True(remedy.Success || compiler.Error.Contains("pull-in", StringComparison.Ordinal), compiler.Error);
        if (remedy.Success)
        {
            rig.Values[RigParameters.Microsteps] = int.Parse(remedy.Groups[1].Value, CultureInfo.InvariantCulture);
            Assert.True(compiler.Compile(rig, null) != null, compiler.Error);
        }
    }

    [GeneratedRegex(@"motor\.microsteps = (\d+) or less")]
    private static partial Regex Remedy();

    private static RigParameters Draw(Random r)
    {
        RigParameters rig = new();
        double arm = 120 + (r.NextDouble() * 400);
        int form = r.Next(7);
        rig.Values[RigParameters.Form] = form;
        rig.Values[RigParameters.Opens] = r.Next(2);
        rig.Set(RigParameters.NutArm, arm);
        rig.Set(RigParameters.AnchorArm, form != RigParameters.BentRod
            ? arm * (0.7 + (r.NextDouble() * 0.6))
            : arm);
        rig.Set(RigParameters.BendRadius, arm * (0.95 + (r.NextDouble() * 0.1)));
        rig.Set(RigParameters.Radius, arm);
        DoubleArms.Set(rig, r);
        HingeGeometry hinge = RigHinges.Build(rig);
        double low = hinge.MinAngleRad + AngleUnits.FromDeg(1);
        double high =
            Math.Min(hinge.MaxAngleRad - AngleUnits.FromDeg(1), low + AngleUnits.FromDeg(10 + (50 * r.NextDouble())));
        rig.Set(RigParameters.Shortest, hinge.RodLengthMm(low));
        rig.Set(RigParameters.Longest, hinge.RodLengthMm(high));
        (double Mm, int Threads)[] threads = [(25.4, 20), (25.4, 24), (1, 1), (1.25, 1), (0.5, 1), (25.4, 16), (2, 1)];
        (double mm, int count) = threads[r.Next(threads.Length)];
        rig.Set(RigParameters.Pitch, mm);
        rig.Values[RigParameters.PitchDivisor] = count;
        (long, long)[] gears = [(1, 1), (3, 1), (25792, 405), (60, 20), (100, 1), (2048, 33)];
        (rig.Values[RigParameters.GearNumerator], rig.Values[RigParameters.GearDenominator]) = gears[r.Next(6)];
        rig.Values[RigParameters.Steps] = r.Next(2) == 0 ? 200 : 400;
        rig.Values[RigParameters.Microsteps] = 1 << r.Next(9);
        rig.Values[RigParameters.PullIn] = 100000;
        rig.Values[RigParameters.Approach] = 100;
        for (int i = r.Next(4) - 1; i >= 0; i--)
        {
            int first = RigParameters.Periodic + (3 * i);
            double period = Math.Round(Math.Exp(r.NextDouble() * 6) * 0.1, 6);
            rig.Set(first, period);
            rig.Set(first + 1,
                Math.Round(Math.Min(RigCompiler.MaxAmplitudeUm(period, mm / count), 30) * r.NextDouble(), 3));
            rig.Set(first + 2, r.Next(360));
        }

        return rig;
    }
}
