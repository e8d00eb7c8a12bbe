// Rigs for the tests of the site: small ones that are quick to drive, and random ones.

using System.Globalization;
using Hourhinge.SharedMath.Compile;
using Hourhinge.SharedMath.Profile;
using Hourhinge.SharedMath.Rig;

namespace Hourhinge.Tests.Firmware.Logic;

/// <summary>Profiles compiled from rig parameters.</summary>
internal static class SiteRigs
{
    /// <summary>A straight M6 rod on 246 mm arms, a plain stepper, both switches; a few minutes of travel.</summary>
    public static RigParameters Short(double longestMm = 23, bool switches = true)
    {
        var rig = new RigParameters();
        long[] v = rig.Values;
        v[RigParameters.NutArm] = v[RigParameters.AnchorArm] = 246000000;
        v[RigParameters.Pitch] = 1000000;
        v[RigParameters.PitchDivisor] = 1;
        v[RigParameters.Shortest] = 20000000;
        v[RigParameters.Longest] = (long)(longestMm * 1e6);
        v[RigParameters.Microsteps] = 4;
        v[RigParameters.PullIn] = 700;
        v[RigParameters.Rewind] = 1500;
        v[RigParameters.Ramp] = 3000;
        v[RigParameters.Approach] = 100;
        v[RigParameters.BackOff] = 100000;
        v[RigParameters.HomeSwitch] = v[RigParameters.EndSwitch] = switches ? 1 : 0;
        return rig;
    }

    public static DriveProfile Compile(RigParameters rig)
    {
        var compiler = new RigCompiler();
        DriveProfile? profile = compiler.Compile(rig, null);
        Assert.True(profile != null, compiler.Error);
        return profile!;
    }

    public static string Text(double value) => value.ToString("0.######", CultureInfo.InvariantCulture);
}
