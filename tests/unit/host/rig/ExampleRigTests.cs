using Hourhinge.Rehearsal.Mechanisms;
using Hourhinge.Rehearsal.Rig;
using Hourhinge.Rehearsal.Tracking;
using Hourhinge.Rig;
using Hourhinge.SharedMath.Geometry;
using Hourhinge.SharedMath.Profile;
using Hourhinge.Tests.Host.App;
using Xunit.Abstractions;

namespace Hourhinge.Tests.Host.Rig;

/// <summary>The figures that the README promises, on the three worked rigs.</summary>
public class ExampleRigTests(ITestOutputHelper output)
{
    public static TheoryData<string> Rigs => [.. Tool.Examples];

    [Theory]
    [MemberData(nameof(Rigs))]
    public void Evaluator_is_within_a_hundredth_of_a_step_of_the_closed_form(string name)
    {
        (_, CompiledDrive drive, _) = Load(name);
        var evaluator = new ProfileEvaluator(drive.Profile);
        var random = new Random(20261125);
        double travel = drive.Design.TravelSec;
        IEnumerable<double> instants = Enumerable.Range(0, (int)travel + 1).Select(s => (double)s)
            .Concat(Enumerable.Range(0, 10000).Select(_ => Math.Floor(random.NextDouble() * travel * 1e6) / 1e6));
        double worstSteps = 0;
        double worstArcsec = 0;
        foreach (double t in instants)
        {
            long us = (long)Math.Round(t * 1e6);
            double error =
                Math.Abs(((double)evaluator.PositionQ16(us) / DriveProfile.OneCount) - drive.Design.CountsAt(us / 1e6));
            worstSteps = Math.Max(worstSteps, error);
            worstArcsec = Math.Max(worstArcsec, error * drive.Design.ArcsecPerCountAt(t));
        }

        output.WriteLine(
            $"{name}: {worstSteps:F5} step, {worstArcsec:F5} arcsec, proved {drive.ErrorBoundSteps:F5}, "
            + $"{drive.Bytes.Length} bytes");
        Assert.InRange(worstSteps, 0, drive.ErrorBoundSteps);
        Assert.InRange(drive.ErrorBoundSteps, 0, 0.01);
        Assert.InRange(worstArcsec, 0, 0.02);
        Assert.InRange(drive.Bytes.Length, 1, 1024);
    }

    [Theory]
    [MemberData(nameof(Rigs))]
    public void Perfect_mechanics_track_within_half_a_microstep_and_five_hundredths_of_an_arcsecond(string name)
    {
        RehearsalResult result = Rehearse(name, 1);
        output.WriteLine($"{name}: peak {result.PeakArcsec:F4}, half step {result.HalfCountArcsec:F4}");
        Assert.InRange(result.PeakArcsec, 0.001, result.HalfCountArcsec + 0.05);
        Assert.Equal(0, result.Pulses!.Value.Lost);
    }

    [Theory]
    [MemberData(nameof(Rigs))]
    public void A_slow_loop_costs_lateness_and_no_drift(string name)
    {
        RehearsalResult quick = Rehearse(name, 1);
        foreach (double passMs in new[] { 10.0, 20.0 })
        {
            RehearsalResult slow = Rehearse(name, passMs);
            double growth = slow.PeakArcsec - quick.PeakArcsec;
            output.WriteLine(
                $"{name}: passes of {passMs} ms: peak {slow.PeakArcsec:F4}, growth {growth:F4}, first minute "
                + $"{slow.PeakFirstMinuteArcsec:F4}, last {slow.PeakLastMinuteArcsec:F4}");
            Assert.InRange(growth, 0, 15.041067 * passMs / 1000);
            // A microstep's angle changes by a few percent over the travel; nothing else may.
            Assert.InRange(slow.PeakLastMinuteArcsec, 0, slow.PeakFirstMinuteArcsec + (slow.HalfCountArcsec * 0.05));
        }
    }

    // Closed forms: driven at constant speed from square, the tangent form errs by θ³/3 and the isosceles by θ³/24 to
    // first order (power series of arctangent and arcsine, Abramowitz and Stegun 4.4.42 and 4.4.40).
    [Theory]
    [InlineData("straight-quarter-twenty", 1.0 / 24)]
    [InlineData("fixed-rod-offset", -1.0 / 3)]
    [InlineData("bent-m6-geared", 0)]
    public void Without_correction_the_textbook_form_shows_the_textbook_error(string name, double law)
    {
        (int code, string json, string error) =
            Tool.Run("rehearse", Tool.Example(name), "--textbook", "--minutes", "10", "--json");
        Assert.True(code == 0, error);
        using var document = System.Text.Json.JsonDocument.Parse(json);
        double[] minutes = [.. document.RootElement.GetProperty("minute").EnumerateArray().Select(v => v.GetDouble())];
        double[] errors = [.. document.RootElement.GetProperty("constant_voltage_error_arcsec").EnumerateArray()
            .Select(v => v.GetDouble())];
        double theta = SkyRate.SiderealRadPerSec * minutes[^1] * 60;
        double expected = AngleUnits.ToArcsec(law * theta * theta * theta);
        output.WriteLine($"{name}: {errors[^1]:F4} arcsec at {minutes[^1]:F3} min, law {expected:F4}");
        Assert.True(minutes[^1] > 9.8);
        Assert.InRange(errors[^1], expected - (Math.Abs(expected) * 0.02) - 0.002,
            expected + (Math.Abs(expected) * 0.02) + 0.002);
    }

    [Fact]
    public void A_faulty_rig_is_found_out()
    {
        (RigDescription rig, CompiledDrive drive, byte[] file) = Load("bent-m6-geared");
        double Peak(VirtualRigOptions board) =>
            new TrackingRehearsal(rig, drive, file, new RehearsalOptions { Minutes = 20, Board = board })
            .Run().PeakArcsec;

        double good = Peak(new VirtualRigOptions());
        Assert.InRange(Peak(new VirtualRigOptions { CrystalErrorPpm = 50 }), good + 0.5, good + 1.2);
        Assert.InRange(Peak(new VirtualRigOptions { Faults = new MechanicalFaults { PeriodicArcsec = 12 } }), 11, 25);
        Assert.InRange(
            Peak(new VirtualRigOptions
            { Faults = new MechanicalFaults { RadiusErrorPercent = 1.5, BendErrorPercent = 1.5 } }), 240, 300);
        Assert.InRange(Peak(new VirtualRigOptions { LostStepsPerThousand = 1 }), 10, 30);
    }

    private static RehearsalResult Rehearse(string name, double passMs)
    {
        (RigDescription rig, CompiledDrive drive, byte[] file) = Load(name);
        return new TrackingRehearsal(rig, drive, file, new RehearsalOptions { LoopPeriodMs = passMs }).Run();
    }

    private static (RigDescription Rig, CompiledDrive Drive, byte[] File) Load(string name)
    {
        RigDescription rig = RigReader.ReadFile(Tool.Example(name), out byte[] bytes);
        return (rig, RigDrive.Compile(rig, Crc32.Of(bytes, 0, bytes.Length)), bytes);
    }
}
