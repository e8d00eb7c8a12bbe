// The pack: its voltage over the link, the load that keeps a power bank awake, and what is left after a power cut.

using Hourhinge.Firmware.Control;
using Hourhinge.Firmware.Panel;

namespace Hourhinge.Tests.Firmware.Logic.Panel;

public sealed class PowerTests
{
    [Fact]
    public void Tells_the_supply_voltage()
    {
        SiteBench bench = new(null);
        bench.Pack.OpenCircuitVolts = _ => 4.95;
        bench.Run(2);
        Assert.InRange(double.Parse(bench.Ask("SUPP:VOLT?"), System.Globalization.CultureInfo.InvariantCulture), 4.93,
            4.97);
    }

    [Fact]
    public void Pulses_the_keep_alive_load_and_says_what_it_was_told()
    {
        SiteBench bench = new(null);
        bench.Run(25);
        Assert.Equal(0, bench.Load.Count);
        Assert.StartsWith("0,", bench.Tell("SUPP:KEEP 0.5,10"), StringComparison.Ordinal);
        Assert.Equal("0.500,10.000", bench.Ask("SUPP:KEEP?"));
        double on = 0;
        bench.Watch = () => on += bench.Load.IsOn ? 5 : 0;
        bench.Run(100);
        Assert.InRange(bench.Load.Count, 9, 11);
        Assert.InRange(on, 4500, 5500);
        Assert.StartsWith("-221", bench.Tell("SUPP:KEEP 10,5"), StringComparison.Ordinal);
    }

    [Fact]
    public void After_a_power_cut_in_mid_travel_it_stands_still_and_says_that_it_is_lost()
    {
        SiteBench bench = new(SiteRigs.Compile(SiteRigs.Short()));
        bench.Gesture(Gesture.Press);
        bench.Run(60);
        long stood = bench.Motor.Microsteps;

        SiteBench again = new(null, bench.Flash.Copy(), standsAt: stood);
        again.Run(30);
        Assert.Equal(0, again.Motor.Pulses);
        Assert.False(again.Shutter.IsOn);
        Assert.Equal("IDLE", again.Ask("MOT:STAT?"));
        Assert.Equal("9.91E37", again.Ask("MOT:POS?"));
        again.Gesture(Gesture.Press);
        Assert.Equal(ControllerState.Idle, again.Controller.State);
        again.Gesture(Gesture.Hold);
        again.RunUntil(() => again.Controller.State == ControllerState.Idle, 60);
        Assert.Equal("0", again.Ask("MOT:POS?"));
    }
}
