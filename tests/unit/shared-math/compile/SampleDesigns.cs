// Drives for the tests: one plain bench drive, and random ones over every form. No checks here.

using Hourhinge.SharedMath.Compile;
using Hourhinge.SharedMath.Geometry;
using Hourhinge.SharedMath.Profile;
using Hourhinge.Tests.SharedMath.Geometry;

namespace Hourhinge.Tests.SharedMath.Compile;

/// <summary>Makes drive designs and compiles them.</summary>
public static class SampleDesigns
{
    /// <summary>A small isosceles drive for the bench: 64 counts a nut turn, about a count a second.</summary>
    public static DriveDesign Bench(double minutes = 20) => new(
        new SwivelledRodHinge(290.27, 290.27, 0),
        AngleUnits.FromDeg(2),
        AngleUnits.FromDeg(2) + (minutes * 60 * SkyRate.SiderealRadPerSec),
        SkyRate.SiderealRadPerSec,
        1.27,
        new GearTrain(64, 1));

    /// <summary>Any form, opening or closing, any gear, with or without periodic errors.</summary>
    public static DriveDesign Random(int seed)
    {
        Random r = new(seed);
        double arm = 120 + (r.NextDouble() * 250);
        HingeGeometry geometry = r.Next(6) switch
        {
            0 => new SwivelledRodHinge(arm, arm, 0),
            1 => new SwivelledRodHinge(arm, arm * (0.6 + (r.NextDouble() * 0.8)), 0),
            2 => new SwivelledRodHinge(arm, arm, arm * (0.9 + (r.NextDouble() * 0.2))),
            3 => new SwivelledRodHinge(arm, arm * (0.8 + (r.NextDouble() * 0.4)), arm * (0.9 + (r.NextDouble() * 0.3))),
            4 => DoubleArms.Random(r),
            _ => new FixedRodHinge(arm, (r.NextDouble() - 0.5) * 40, r.NextDouble() * 5),
        };
        double low = geometry.MinAngleRad + 0.001;
        double high = Math.Min(geometry.MaxAngleRad - 0.001, AngleUnits.FromDeg(80));
        double travel = Math.Min(high - low, AngleUnits.FromDeg(1 + (r.NextDouble() * 25)));
        double start = low + (r.NextDouble() * (high - low - travel));
        bool closes = r.Next(2) == 0;
        double[] rates = [SkyRate.SiderealRadPerSec, SkyRate.SolarRadPerSec, SkyRate.LunarRadPerSec];
        int[] microsteps = [1, 2, 8, 16, 32];
        GearTrain gears = r.Next(3) switch
        {
            0 => new GearTrain(1, 1),
            1 => new GearTrain(32, 9).WithPair(22, 11).WithPair(26, 9).WithPair(31, 10),
            _ => new GearTrain(40 + r.Next(40), 13 + r.Next(10)),
        };
        double[] pitches = [0.5, 0.79375, 1, 1.25, 1.27];
        DriveDesign design = new(
            geometry,
            closes ? start + travel : start,
            closes ? start : start + travel,
            rates[r.Next(3)],
            pitches[r.Next(5)],
            gears.WithPair(r.Next(2) == 0 ? 200 : 32, 1).WithPair(microsteps[r.Next(5)], 1));
        design.Periodic = [.. Enumerable.Range(0, r.Next(3)).Select(_ => RandomPeriodic(r))];
        return design;
    }

    /// <summary>A profile with sane rewind settings and a name, not yet compiled.</summary>
    public static DriveProfile Blank(string name = "bench rig") => new()
    {
        RigName = name,
        RigDigest = 0,
        Flags = DriveProfile.HomeSwitchFitted,
        RewindCountsPerSec = 2000,
        RampCountsPerSec2 = 1000,
        PullInCountsPerSec = 400,
        ApproachCountsPerSec = 40,
        BackOffCounts = 20,
    };

    /// <summary>A compiled profile; the design is one that compiles.</summary>
    public static DriveProfile Compile(DriveDesign design, DriveProfile? into = null)
    {
        DriveProfile profile = into ?? Blank();
        ProfileCompiler compiler = new(design);
        Assert.True(compiler.Compile(profile), compiler.Error);
        return profile;
    }

    private static PeriodicError RandomPeriodic(Random r)
    {
        double period = r.Next(2) == 0 ? 1 : 0.1 + (r.NextDouble() * 10);
        double eccentricity = 0.15 * ((r.NextDouble() * 2) - 1);
        return new PeriodicError(period, eccentricity * period / (2 * Math.PI), r.NextDouble() * 2 * Math.PI);
    }
}
