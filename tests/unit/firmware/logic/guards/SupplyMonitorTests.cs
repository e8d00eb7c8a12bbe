using Hourhinge.Firmware.Guards;
using Hourhinge.Firmware.Hardware;
using Hourhinge.SharedMath.Profile;

namespace Hourhinge.Tests.Firmware.Logic.Guards;

/// <summary>The larger of the board's minimum supply and the profile's is the limit.</summary>
public sealed class SupplyMonitorTests
{
    [Theory]
    [InlineData(4500, 4000, 4499, true)]
    [InlineData(4500, 4000, 4500, false)]
    [InlineData(4000, 4500, 4499, true)]
    [InlineData(4000, 4500, 4500, false)]
    [InlineData(4500, 0, 4499, true)]
    [InlineData(0, 4500, 4499, true)]
    [InlineData(0, 0, 1, false)]
    public void The_larger_minimum_counts(int boardMv, int profileMv, int supplyMv, bool isLow)
    {
        var monitor = new SupplyMonitor(new Meter(supplyMv), boardMv);
        monitor.Configure(new DriveProfile { Dc = new DcSettings { MinMillivolts = profileMv } });
        monitor.Update(0);
        Assert.Equal(isLow, monitor.IsLow);
    }

    [Fact]
    public void A_profile_without_a_minimum_restores_the_board_s_own()
    {
        var monitor = new SupplyMonitor(new Meter(4200), 4000);
        monitor.Configure(new DriveProfile { Dc = new DcSettings { MinMillivolts = 4500 } });
        monitor.Update(0);
        Assert.True(monitor.IsLow);
        monitor.Configure(new DriveProfile());
        Assert.False(monitor.IsLow);
    }

    private sealed class Meter(int millivolts) : ISupplyMeter
    {
        public int ReadMillivolts() => millivolts;
    }
}
