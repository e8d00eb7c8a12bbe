// The bent-rod rig with a DC motor that the DC tests drive.

using Hourhinge.Rehearsal.Dc;
using Hourhinge.SharedMath.Compile;
using Hourhinge.SharedMath.Geometry;
using Hourhinge.SharedMath.Profile;

namespace Hourhinge.Tests.Firmware.Logic.Drives;

/// <summary>A rig and its profiles. The dimensions are the bent-rod example's; the motor is invented.</summary>
internal static class DcFixture
{
    public const double LoadNm = 0.013;

    public static readonly SwivelledRodHinge Hinge = new(230, 230, 230);

    public static readonly DcMotorConstants Motor = new();

    /// <summary>Closed loop: counts of the encoder on the rotor.</summary>
    public static DriveDesign Design(DcMotorConstants motor, double longestMm = 125) =>
        Design(new GearTrain((long)motor.TurnsPerNutTurn * motor.CountsPerRotorTurn, 1), longestMm);

    /// <summary>Open loop: thousandths of a turn of the gear motor's shaft, which carries the nut.</summary>
    public static DriveDesign OpenLoopDesign(double longestMm = 125) => Design(new GearTrain(1000, 1), longestMm);

    private static DriveDesign Design(GearTrain countsPerNutTurn, double longestMm) => new(
        Hinge, Hinge.AngleRad(18), Hinge.AngleRad(longestMm), SkyRate.SiderealRadPerSec, 1.0, countsPerNutTurn);

    public static DriveProfile ClosedLoop(int extraFlags = 0, DcMotorConstants? motor = null, double longestMm = 125)
    {
        motor ??= Motor;
        return Profile(Design(motor, longestMm), DriveProfile.DcClosedLoop, motor.CountsPerRotorTurn, extraFlags,
            motor);
    }

    public static DriveProfile OpenLoop(int extraFlags = 0, double longestMm = 125) =>
        Profile(OpenLoopDesign(longestMm), DriveProfile.DcOpenLoop, 1000 / Motor.TurnsPerNutTurn, extraFlags, Motor);

    private static DriveProfile Profile(DriveDesign design, int kind, double countsPerRotorTurn, int flags,
        DcMotorConstants motor)
    {
        double fastest = 2.2 * design.CountsPerSecAt(0);
        var profile = new DriveProfile
        {
            RigName = "Dipper DC",
            DriveKind = kind,
            Flags = flags,
            PullInCountsPerSec = (int)(2 * design.CountsPerSecAt(0)),
            RewindCountsPerSec = (int)(2 * design.CountsPerSecAt(0)),
            ApproachCountsPerSec = (int)(design.CountsPerSecAt(0) / 2),
            RampCountsPerSec2 = (int)(4 * design.CountsPerSecAt(0)),
            BackOffCounts = (int)(0.5 * design.CountsPerNutTurn.Ratio),
            Dc = SpeedCurveBench.Measure(motor, LoadNm, 5200, countsPerRotorTurn, fastest),
        };
        profile.Dc.MinMillivolts = 4000;
        var compiler = new ProfileCompiler(design);
        Assert.True(compiler.Compile(profile), compiler.Error);
        Assert.Null(ProfileSafety.Check(profile));
        return profile;
    }
}
