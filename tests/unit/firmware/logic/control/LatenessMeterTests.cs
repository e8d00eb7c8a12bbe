using Hourhinge.Firmware.Control;
using Hourhinge.SharedMath.Profile;

namespace Hourhinge.Tests.Firmware.Logic.Control;

public class LatenessMeterTests
{
    // 100 counts/s; a step is due from half a count on. Passes without a due step do not make the mean smaller.
    [Fact]
    public void The_mean_is_over_the_passes_in_which_a_step_was_due()
    {
        const long Rate = 100L * DriveProfile.OneCount;
        LatenessMeter meter = new();
        for (int i = 0; i < 1000; i++)
        {
            meter.Record(DriveProfile.OneCount / 4, Rate);
        }

        meter.Record(DriveProfile.OneCount * 3 / 4, Rate);
        meter.Record(DriveProfile.OneCount, Rate);
        Assert.Equal(5000, meter.WorstUs);
        Assert.Equal(3750, meter.MeanUs);
    }
}
