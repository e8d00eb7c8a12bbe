// What the wire to the step counter brings, measured by rehearsals.

using Hourhinge.Rehearsal.Rig;
using Hourhinge.Rehearsal.Tracking;
using Hourhinge.Rig;
using Hourhinge.Tests.Support;
using Xunit.Abstractions;

namespace Hourhinge.Tests.Host.Rehearsal;

public sealed class StepCounterTests(ITestOutputHelper output)
{
    // The examples as they are, and one with 64 microsteps: 640 pulses a second, too many for passes of 30 ms.
    [Theory]
    [InlineData("bent-m6-geared", false, 10)]
    [InlineData("straight-quarter-twenty", false, 10)]
    [InlineData("straight-quarter-twenty", true, 10)]
    [InlineData("straight-quarter-twenty", true, 30)]
    public void A_train_is_never_worse_than_single_pulses(string example, bool isFast, double passMs)
    {
        RehearsalResult single = Rehearse(example, isFast, passMs, false);
        RehearsalResult train = Rehearse(example, isFast, passMs, true);
        output.WriteLine($"{example}{(isFast ? " with 64 microsteps" : "")}, passes of {passMs} ms: peak "
            + $"{single.PeakArcsec:0.000} -> {train.PeakArcsec:0.000}, RMS {single.RmsArcsec:0.000} -> "
            + $"{train.RmsArcsec:0.000} arcsec");
        Assert.True(train.PeakArcsec <= single.PeakArcsec + (0.2 * train.HalfCountArcsec));
        Assert.True(train.RmsArcsec < 0.5 * single.RmsArcsec);
        Assert.True(train.RmsArcsec < 1.6 * train.HalfCountArcsec);
        Assert.Equal(0, train.Pulses!.Value.Lost);
        Assert.Equal("TRACKING", train.FinalState);
    }

    private static RehearsalResult Rehearse(string example, bool isFast, double passMs, bool hasCounter)
    {
        string text = File.ReadAllText(RepositoryFile.Path($"host/examples/{example}.toml"));
        if (isFast)
        {
            text = text.Replace("microsteps = 16", "microsteps = 64", StringComparison.Ordinal)
                .Replace("steps_per_sec = 800", "steps_per_sec = 3200", StringComparison.Ordinal);
        }

        RigDescription rig = RigReader.Read(example, text);
        return new TrackingRehearsal(rig, RigDrive.Compile(rig, 0), [], new RehearsalOptions
        {
            Minutes = 3,
            LoopPeriodMs = passMs,
            Board = new VirtualRigOptions { HasStepCounter = hasCounter },
        }).Run();
    }
}
