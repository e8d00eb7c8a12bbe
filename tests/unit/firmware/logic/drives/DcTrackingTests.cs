// The promised figures of the DC drives, against a virtual motor that is known to the firmware only by its measured
// speed curve, and a linkage that is solved on points in the plane.

using Hourhinge.Firmware.Drives;
using Hourhinge.Rehearsal.Dc;
using Hourhinge.SharedMath.Compile;
using Hourhinge.SharedMath.Profile;
using Xunit.Abstractions;

namespace Hourhinge.Tests.Firmware.Logic.Drives;

public sealed class DcTrackingTests(ITestOutputHelper output)
{
    private static double Sag(double sec) => 5.2 - (0.8 * sec / 3600);

    // The second motor is a worse choice on purpose: a tenth of the gear, so that friction and load weigh ten times
    // more, and an encoder of 0.3 arcsec a count.
    [Theory]
    [InlineData(2500, 28)]
    [InlineData(250, 12)]
    public void Closed_loop_holds_an_arcsecond_through_friction_sag_and_changing_load(int gear, int countsPerRotorTurn)
    {
        DcMotorConstants motor =
            DcFixture.Motor with { TurnsPerNutTurn = gear, CountsPerRotorTurn = countsPerRotorTurn };
        DriveProfile profile = DcFixture.ClosedLoop(0, motor);
        var rehearsal = new DcRehearsal(DcFixture.Hinge, DcFixture.Design(motor))
        {
            Constants = motor,
            LoadSwing = 0.3,
            LoadRoughness = 0.1
        };
        rehearsal.Pack.OpenCircuitVolts = Sag;
        DcRehearsalResult r = rehearsal.Track(profile);
        output.WriteLine(
            $"closed loop, gear {gear}:1, {countsPerRotorTurn} counts a rotor turn, 60 min, 5.2 -> 4.4 V, load +-30 "
            + $"%, passes 1-20 ms: {r.RmsArcsec:0.000} arcsec RMS, {r.PeakArcsec:0.000} arcsec peak");
        Assert.Equal("TRACKING", r.FinalState);
        Assert.InRange(r.RmsArcsec, 0, 1.0);
        Assert.InRange(r.PeakArcsec, 0, 3.0);
    }

    [Fact]
    public void Open_loop_keeps_the_rate_within_two_thousandths_where_a_fixed_drive_loses_a_fifth()
    {
        DriveProfile profile = DcFixture.OpenLoop();
        DriveDesign design = DcFixture.OpenLoopDesign();
        DcRehearsalResult Run(double swing, Func<DcRehearsal, DcRehearsalResult> run)
        {
            var rehearsal = new DcRehearsal(DcFixture.Hinge, design) { LoadSwing = swing, LoadRoughness = 0.1 };
            rehearsal.Pack.OpenCircuitVolts = Sag;
            return run(rehearsal);
        }

        int duty = SpeedCurve.DutyFor(profile.Dc, (long)(design.CountsPerSecAt(0) * 1000));
        DcRehearsalResult open = Run(0, r => r.Track(profile));
        DcRehearsalResult openLoaded = Run(0.3, r => r.Track(profile));
        DcRehearsalResult constant = Run(0, r => r.ConstantDuty(duty));
        output.WriteLine(
            $"open loop, 60 min, 5.2 -> 4.4 V: rate error {open.RateErrorPercent:0.000} %, worst minute "
            + $"{open.WorstMinuteRateErrorPercent:0.000} %, {open.FinalArcsec:0.0} arcsec at the end");
        output.WriteLine(
            $"the same with load +-30 %: rate error {openLoaded.RateErrorPercent:0.000} %, worst minute "
            + $"{openLoaded.WorstMinuteRateErrorPercent:0.000} % (no encoder sees the load), peak "
            + $"{openLoaded.PeakArcsec:0.0} arcsec");
        output.WriteLine(
            $"constant duty (what it replaces): rate error {constant.RateErrorPercent:0.000} %, worst minute "
            + $"{constant.WorstMinuteRateErrorPercent:0.000} %, {constant.FinalArcsec:0.0} arcsec at the end");
        Assert.Equal("TRACKING", open.FinalState);
        Assert.InRange(Math.Abs(open.RateErrorPercent), 0, 0.2);
        Assert.True(Math.Abs(constant.RateErrorPercent) > 5);
    }
}
