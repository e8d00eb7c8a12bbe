using Hourhinge.App.Common;
using Hourhinge.Rig;
using Hourhinge.SharedMath.Profile;

namespace Hourhinge.Tests.Host.App.Common;

/// <summary>The check that `upload` makes before it sends.</summary>
public class ProfileAccuracyTests
{
    [Theory]
    [InlineData("straight-quarter-twenty")]
    [InlineData("bent-m6-geared")]
    [InlineData("fixed-rod-offset")]
    [InlineData("bent-m6-dc-encoder")]
    public void Worked_rigs_are_within_the_limit_and_the_bound_holds(string rig)
    {
        var accuracy = ProfileAccuracy.Measure(Compile(rig));
        Assert.True(accuracy.IsWithinLimit, accuracy.ToString());
        Assert.InRange(accuracy.WorstCounts, 1e-6, accuracy.BoundCounts);
        Assert.True(accuracy.WorstArcsec > 0);
    }

    [Fact]
    public void One_segment_that_is_wrong_by_a_fiftieth_of_a_step_is_rejected()
    {
        CompiledDrive drive = Compile("straight-quarter-twenty");
        int last = drive.Profile.DurationMs.Length - 1;
        drive.Profile.Square[last] += (int)(DriveProfile.OneCount / 50);
        var accuracy = ProfileAccuracy.Measure(drive with { Bytes = ProfileCodec.Encode(drive.Profile) });
        Assert.False(accuracy.IsWithinLimit, accuracy.ToString());
        Assert.InRange(accuracy.WorstCounts, 0.015, 0.04);
    }

    [Fact]
    public void Bytes_that_do_not_decode_are_rejected()
    {
        CompiledDrive drive = Compile("straight-quarter-twenty");
        drive.Bytes[20] ^= 1;
        Assert.False(ProfileAccuracy.Measure(drive).IsWithinLimit);
    }

    [Fact]
    public void Not_a_number_is_rejected() =>
        Assert.False(new ProfileAccuracy(double.NaN, double.NaN, double.NaN).IsWithinLimit);

    private static CompiledDrive Compile(string rig) =>
        RigDrive.Compile(RigReader.ReadFile(Tool.Example(rig), out _), 0);
}
