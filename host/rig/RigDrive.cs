// From a rig to its drive. The parameters go through the same compiler as on the controller (shared-math/RigCompiler);
// here they are only translated, and errors use the rig file's key names.

using Hourhinge.SharedMath.Compile;
using Hourhinge.SharedMath.Geometry;
using Hourhinge.SharedMath.Profile;
using Hourhinge.SharedMath.Rig;

namespace Hourhinge.Rig;

/// <summary>A compiled drive.</summary>
/// <param name="Design">The closed form.</param>
/// <param name="Profile">The profile of integers.</param>
/// <param name="Bytes">The profile as it is uploaded.</param>
/// <param name="ErrorBoundSteps">Proved bound of |evaluator − closed form|, microsteps.</param>
public sealed record CompiledDrive(DriveDesign Design, DriveProfile Profile, byte[] Bytes, double ErrorBoundSteps);

/// <summary>Turns rigs into drives.</summary>
public static class RigDrive
{
    /// <summary>The rate that the rig follows, rad/s.</summary>
    public static double RateRadPerSec(RigDescription rig) => RigCompiler.RateRadPerSec(Parameters(rig));

    /// <summary>The closed form of the rig's drive.</summary>
    public static DriveDesign Design(RigDescription rig) => Compile(rig, 0).Design;

    /// <summary>Compiles a rig; <paramref name="rigDigest"/> is the CRC-32 of its file's bytes.</summary>
    public static CompiledDrive Compile(RigDescription rig, uint rigDigest)
    {
        var frame = new DriveProfile { RigName = rig.Name, Dc = DcSettings(rig) };
        var compiler = new RigCompiler();
        DriveProfile? profile = compiler.Compile(Parameters(rig), rig.Hinge, frame);
        if (profile == null)
        {
            throw new RigFileException(TooFast(rig, compiler)
                ?? $"{rig.Name}: {compiler.Error.TrimEnd('.')}.");
        }

        profile.RigDigest = rigDigest;
        return new CompiledDrive(compiler.Design, profile, ProfileCodec.Encode(profile), compiler.ErrorBoundCounts);
    }

    /// <summary>What to tell when the sky needs less than the slowest speed that a DC motor's table has; else
    /// null.</summary>
    public static string? TooSlow(DcData? dc, DriveDesign design)
    {
        if (dc is not { Curve.Count: > 0 })
        {
            return null;
        }

        const int Samples = 100;
        double[] needed = [.. Enumerable.Range(0, Samples + 1).Select(i => Math.Abs(
            design.CountsPerSecAt(design.TravelSec * i / Samples)) / design.CountsPerNutTurn.Ratio * 60)];
        double slowest = dc.Curve[0].NutTurnsPerMin;
        return needed.Min() >= slowest ? null
            : $"motor.speed_curve: the sky needs {needed.Min():0.###} to {needed.Max():0.###} nut turns a minute and "
                + $"the curve begins at {slowest:0.###}. Slower, the motor "
                + (dc.HasEncoder ? "goes in jerks" : "goes in jerks that nothing measures: it will not follow the sky")
                + "; measure lower duties, or take more gear reduction.";
    }

    /// <summary>The rig as scaled integers: what the controller knows of it, and can edit.</summary>
    public static RigParameters Parameters(RigDescription rig)
    {
        var parameters = new RigParameters();
        SetHinge(parameters, rig.Hinge);

        // An inch thread is a fraction of 25.4 mm, which no decimal holds.
        int threads = ThreadTable.PerInch(rig.Rod.PitchMm);
        parameters.Set(RigParameters.Pitch, threads > 0 ? 25.4 : rig.Rod.PitchMm);
        parameters.Set(RigParameters.PitchDivisor, Math.Max(1, threads));
        parameters.Set(RigParameters.Opens, rig.Opens ? 1 : 0);
        parameters.Set(RigParameters.Shortest, rig.Rod.ShortestMm);
        parameters.Set(RigParameters.Longest, rig.Rod.LongestMm);
        parameters.Values[RigParameters.GearNumerator] = rig.MotorTurnsPerNutTurn.Numerator;
        parameters.Values[RigParameters.GearDenominator] = rig.MotorTurnsPerNutTurn.Denominator;
        parameters.Set(RigParameters.DriveKind, rig.Motor.Dc == null ? DriveProfile.Stepper : rig.Motor.Dc.HasEncoder
            ? DriveProfile.DcClosedLoop : DriveProfile.DcOpenLoop);
        parameters.Set(RigParameters.ForwardOnly, rig.Motor.Dc is { HasBridge: false } ? 1 : 0);
        parameters.Set(RigParameters.Steps, rig.Motor.FullSteps);
        parameters.Set(RigParameters.Microsteps, rig.Motor.Microsteps);
        parameters.Set(RigParameters.PullIn, rig.Motor.PullInStepsPerSec);
        parameters.Set(RigParameters.Rewind, rig.Motor.RewindStepsPerSec);
        parameters.Set(RigParameters.Ramp, rig.Motor.RampStepsPerSec2);
        parameters.Set(RigParameters.Approach, rig.Motor.ApproachStepsPerSec);
        parameters.Set(RigParameters.Reversed, rig.Motor.Reversed ? 1 : 0);
        parameters.Set(RigParameters.Release, rig.Motor.ReleaseWhenIdle ? 1 : 0);
        parameters.Set(RigParameters.HomeSwitch, rig.Switches.Home ? 1 : 0);
        parameters.Set(RigParameters.EndSwitch, rig.Switches.End ? 1 : 0);
        parameters.Set(RigParameters.BackOff, rig.Switches.BackOffMm);
        parameters.Values[RigParameters.Follow] =
            RigParameters.KeyOf(RigParameters.Follow).Words.IndexOf(rig.Rate.Follow);
        parameters.Set(RigParameters.RateCorrection, rig.Rate.CorrectionPpm);
        parameters.Set(RigParameters.RateSlope, rig.Rate.Change.SlopePpmPerHour);
        parameters.Set(RigParameters.RateCurve, rig.Rate.Change.CurvePpmPerHour2);
        parameters.Set(RigParameters.RateHold, rig.Rate.Change.HoldMin);
        parameters.Set(RigParameters.Latitude, rig.Site?.LatitudeDeg ?? 0);
        parameters.Set(RigParameters.Declination, rig.Rate.DeclinationDeg ?? 0);
        parameters.Set(RigParameters.HourAngle, rig.Rate.HourAngleHours ?? 0);
        parameters.Set(RigParameters.ClockTrim, rig.ClockTrimPpm);
        for (int i = 0; i < rig.Periodic.Count; i++)
        {
            int first = RigParameters.Periodic + (3 * i);
            parameters.Set(first, rig.Periodic[i].PeriodNutTurns);
            parameters.Set(first + 1, rig.Periodic[i].AmplitudeUm);
            parameters.Set(first + 2, rig.Periodic[i].PhaseDeg);
        }

        return parameters;
    }

    private static void SetHinge(RigParameters parameters, HingeGeometry hinge)
    {
        switch (hinge)
        {
            case SwivelledRodHinge s:
                parameters.Set(RigParameters.Form, s.BendRadiusMm == 0
                    ? RigParameters.StraightRod
                    : RigParameters.BentRod);
                parameters.Set(RigParameters.NutArm, s.NutArmMm);
                parameters.Set(RigParameters.AnchorArm, s.AnchorArmMm);
                parameters.Set(RigParameters.BendRadius, s.BendRadiusMm == 0 ? s.NutArmMm : s.BendRadiusMm);
                break;
            case FixedRodHinge f:
                parameters.Set(RigParameters.Form, RigParameters.FixedRod);
                parameters.Set(RigParameters.Radius, f.RadiusMm);
                parameters.Set(RigParameters.SurfaceOffset, f.SurfaceOffsetMm);
                parameters.Set(RigParameters.TipRadius, f.TipRadiusMm);
                break;
            case DoubleArmHinge d:
                SetHinge(parameters, d.Drive);
                bool isFixed = d.Drive is FixedRodHinge;
                parameters.Set(RigParameters.Form, d.IsTipOnCameraArm
                    ? (isFixed ? RigParameters.CameraTipFixed : RigParameters.CameraTipStraight)
                    : (isFixed ? RigParameters.DriveTipFixed : RigParameters.DriveTipStraight));
                parameters.Set(RigParameters.ContactArm, d.ContactArmMm);
                parameters.Set(RigParameters.HingeDistance, d.HingeDistanceMm);
                parameters.Set(RigParameters.HingeHeight, d.HingeHeightMm);
                parameters.Set(RigParameters.ContactOffset, d.ContactOffsetMm);
                break;
            default:
                throw new ArgumentException("the controller does not know this hinge form", nameof(hinge));
        }
    }

    private static DcSettings? DcSettings(RigDescription rig)
    {
        if (rig.Motor.Dc is not { } dc)
        {
            return null;
        }

        double countsPerNutTurn = rig.MotorTurnsPerNutTurn.Ratio * rig.Motor.FullSteps;
        var settings = new DcSettings
        {
            CurveMillivolts = (int)Math.Round(dc.CurveVolts * 1000),
            MinMillivolts = (int)Math.Round(dc.MinVolts * 1000),
            BreakAwayDuty = (int)Math.Round(dc.BreakAwayPercent * 100),
            CurveDuty = [.. dc.Curve.Select(p => (int)Math.Round(p.DutyPercent * 100))],
            CurveMilliCountsPerSec =
            [.. dc.Curve.Select(p => (int)Math.Round(p.NutTurnsPerMin / 60 * countsPerNutTurn * 1000))],
        };
        DcTuning.SetGains(settings);
        return settings;
    }

    // Null when the drive is not too fast for its motor.
    private static string? TooFast(RigDescription rig, RigCompiler compiler)
    {
        double fastest = compiler.FastestCountsPerSec;
        if (compiler.Design == null || fastest <= rig.Motor.PullInStepsPerSec)
        {
            return null;
        }

        double max = RigKeys.Get("motor", "pull_in_steps_per_sec").Max;
        string[] remedies =
        [
            .. Math.Ceiling(fastest) <= max ? [$"allowed is {Math.Ceiling(fastest)} to {max}"] : Array.Empty<string>(),
            compiler.MicrostepsThatFit > 0
                ? $"it fits with motor.microsteps = {compiler.MicrostepsThatFit} or less"
                : "take less gear reduction",
        ];
        return rig.Motor.Dc != null
            ? $"motor.speed_curve: the sky needs {fastest / compiler.Design.CountsPerNutTurn.Ratio * 60:0.###} nut "
                + "turns a "
                + $"minute and the curve ends at {rig.Motor.Dc.Curve[^1].NutTurnsPerMin:0.###}; take another gear."
            : $"motor.pull_in_steps_per_sec = {rig.Motor.PullInStepsPerSec}: this drive needs up to {fastest:0.#} "
                + $"microsteps/s to follow the sky; {string.Join(", or ", remedies)}.";
    }
}
