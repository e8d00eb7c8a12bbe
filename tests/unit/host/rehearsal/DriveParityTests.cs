using System.Text;
using Hourhinge.Rehearsal.Mechanisms;
using Hourhinge.Rehearsal.Rig;
using Hourhinge.Rehearsal.Tracking;
using Hourhinge.Rig;
using Xunit.Abstractions;

namespace Hourhinge.Tests.Host.Rehearsal;

/// <summary>A closed-loop DC motor moves the same mechanism as a stepper, so it shows the same sky errors.</summary>
public sealed class DriveParityTests(ITestOutputHelper output)
{
    private static readonly MechanicalFaults _faults =
        new() { RadiusErrorPercent = 0.4, BendErrorPercent = 0.5, RodWaveUm = 20, PeriodicArcsec = 8 };

    [Fact]
    public void Faults_show_the_same_sky_errors_on_an_encoder_as_on_a_stepper()
    {
        foreach (string form in DriveRigs.Forms)
        {
            foreach (bool opens in new[] { true, false })
            {
                RehearsalResult stepper = Rehearse(form, opens, "stepper", 10);
                RehearsalResult motor = Rehearse(form, opens, "dc-encoder", 10);
                int settled = Array.FindIndex(motor.Minutes, m => m * 60 > motor.SettleSec);
                // The samples are at the same times within a pass, in which the faults change nothing.
                double worst = Enumerable.Range(settled, motor.Minutes.Length - settled)
                    .Max(i => Math.Abs(motor.InstantArcsec[i] - stepper.InstantArcsec[i]));
                output.WriteLine(
                    $"{form}, {(opens ? "opens" : "closes")}: stepper peak {stepper.PeakArcsec:F3}, encoder peak "
                    + $"{motor.PeakArcsec:F3}, largest difference {worst:F4} arcsec");
                Assert.True(stepper.PeakArcsec > 10);
                Assert.InRange(worst, 0, 0.05);
                Assert.InRange(Math.Abs(motor.PeakArcsec - stepper.PeakArcsec), 0, 0.05);
            }
        }
    }

    [Fact]
    public void Without_an_encoder_the_measured_table_holds_the_rate_through_the_sag()
    {
        foreach (string form in DriveRigs.Forms)
        {
            foreach (bool opens in new[] { true, false })
            {
                RehearsalResult r = Rehearse(form, opens, "dc", 10, new VirtualRigOptions(), 15);
                output.WriteLine(
                    $"{form}, {(opens ? "opens" : "closes")}: rate error {r.RateErrorPercent:F4} %, ends at "
                    + $"{r.FinalVolts:F2} V");
                Assert.Equal("TRACKING", r.FinalState);
                Assert.InRange(r.RateErrorPercent, -0.1, 0.1);
            }
        }
    }

    // A crystal that is 1 % fast: the hinge gains 1 % where position is controlled. A motor without an encoder turns by
    // its table of true speeds, whatever the crystal.
    [Theory]
    [InlineData("stepper", 1)]
    [InlineData("dc-encoder", 1)]
    [InlineData("dc", 0)]
    public void A_fast_crystal_makes_a_controlled_position_fast(string drive, double percent)
    {
        RehearsalResult r =
            Rehearse("straight-rod", true, drive, 5, new VirtualRigOptions { CrystalErrorPpm = 10000 });
        Assert.InRange(r.RateErrorPercent, percent - 0.05, percent + 0.05);
    }

    private static RehearsalResult Rehearse(string form, bool opens, string drive, double minutes,
        VirtualRigOptions? board = null, double sagPercent = 3)
    {
        byte[] file = Encoding.UTF8.GetBytes(DriveRigs.Text(form, opens, drive, false));
        RigDescription rig = RigReader.Read("rig", Encoding.UTF8.GetString(file));
        return new TrackingRehearsal(rig, RigDrive.Compile(rig, 0), file, new RehearsalOptions
        {
            Minutes = minutes,
            Board = board ?? new VirtualRigOptions { Faults = _faults },
            SagPercent = sagPercent,
        }).Run();
    }
}
