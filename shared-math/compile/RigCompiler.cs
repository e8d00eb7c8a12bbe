// From a rig's parameters to its drive profile: the same source on the host and on the controller, so that both come
// to the same motion. The geometry, the rates and the fitting are in their own files.

using System;
using Hourhinge.SharedMath.Geometry;
using Hourhinge.SharedMath.Profile;
using Hourhinge.SharedMath.Rig;

namespace Hourhinge.SharedMath.Compile;

/// <summary>Checks that the parameters fit together and compiles them. Nothing is thrown; look at <see cref="Refusal"/>.</summary>
public sealed class RigCompiler
{
    /// <summary>Why there is no profile: one sentence with name, value and range; null after a success.</summary>
    public string Refusal { get; private set; }

    /// <summary>The closed form of the last rig that was compiled.</summary>
    public DriveDesign Design { get; private set; }

    /// <summary>Proved bound of |evaluator − closed form|, counts.</summary>
    public double ErrorBoundCounts { get; private set; }

    /// <summary>Compiles a rig. Name, DC settings and shutter program are taken from <paramref name="from"/>, which may
    /// be null.</summary>
    public DriveProfile Compile(RigParameters rig, DriveProfile from)
    {
        Refusal = rig.Check() ?? Prepare(rig);
        if (Refusal != null)
        {
            return null;
        }

        DriveProfile profile = new DriveProfile();
        profile.RigName = from == null ? "site" : from.RigName;
        profile.DriveKind = (int)rig.Values[RigParameters.DriveKind];
        profile.Flags = FlagsOf(rig);
        profile.RewindCountsPerSec = (int)rig.Values[RigParameters.Rewind];
        profile.RampCountsPerSec2 = (int)rig.Values[RigParameters.Ramp];
        profile.PullInCountsPerSec = (int)rig.Values[RigParameters.PullIn];
        profile.ApproachCountsPerSec = (int)rig.Values[RigParameters.Approach];
        double backOff =
            Math.Round(rig.InUnits(RigParameters.BackOff) * Design.CountsPerNutTurn.Ratio / Design.PitchMm);
        profile.BackOffCounts = backOff < 1 ? 1 : backOff > 1000000 ? 1000000 : (int)backOff;
        profile.ClockTrimPpb = (int)rig.Values[RigParameters.ClockTrim];
        profile.Dc = from == null || profile.DriveKind == DriveProfile.Stepper ? null : from.Dc;
        profile.Shutter = from?.Shutter;
        profile.Rig = rig;
        ProfileCompiler compiler = new ProfileCompiler(Design);
        Refusal = compiler.Compile(profile) ? ProfileSafety.Check(profile) : compiler.Refusal;
        ErrorBoundCounts = compiler.ErrorBoundCounts;
        return Refusal == null ? profile : null;
    }

    /// <summary>The rate that a rig follows, rad/s.</summary>
    public static double RateRadPerSec(RigParameters rig)
    {
        double rate;
        switch (rig.Values[RigParameters.Follow])
        {
            case RigParameters.Sun:
                rate = SkyRate.SolarRadPerSec;
                break;
            case RigParameters.Moon:
                rate = SkyRate.LunarRadPerSec;
                break;
            case RigParameters.RefractedStars:
                rate = SkyRate.SiderealRadPerSec * SkyRate.RefractionRateFactor(
                    AngleUnits.FromDeg(rig.InUnits(RigParameters.Latitude)),
                    AngleUnits.FromDeg(rig.InUnits(RigParameters.Declination)),
                    AngleUnits.FromDeg(rig.InUnits(RigParameters.HourAngle) * 15));
                break;
            default:
                rate = SkyRate.SiderealRadPerSec;
                break;
        }

        return rate * (1 + (rig.InUnits(RigParameters.RateCorrection) * 1e-6));
    }

    /// <summary>Pitch in mm: an inch thread is exactly 25.4 mm by its number of threads.</summary>
    public static double PitchMm(RigParameters rig) =>
        rig.InUnits(RigParameters.Pitch) / rig.Values[RigParameters.PitchDivisor];

    private static int FlagsOf(RigParameters rig)
    {
        long[] v = rig.Values;
        return (v[RigParameters.Reversed] != 0 ? DriveProfile.MotorReversed : 0)
            | (v[RigParameters.HomeSwitch] != 0 ? DriveProfile.HomeSwitchFitted : 0)
            | (v[RigParameters.EndSwitch] != 0 ? DriveProfile.EndSwitchFitted : 0)
            | (v[RigParameters.Release] != 0 ? DriveProfile.ReleaseWhenIdle : 0)
            | (v[RigParameters.ForwardOnly] != 0 ? DriveProfile.ForwardOnly : 0)
            | (v[RigParameters.Opens] != 0 ? 0 : DriveProfile.HingeCloses);
    }

    private string Prepare(RigParameters rig)
    {
        long[] v = rig.Values;
        HingeGeometry hinge;
        if (v[RigParameters.Form] == RigParameters.FixedRod)
        {
            double offset = rig.InUnits(RigParameters.SurfaceOffset);
            double tip = rig.InUnits(RigParameters.TipRadius);
            double radius = rig.InUnits(RigParameters.Radius);
            if (Math.Abs(offset + tip) >= radius / 2)
            {
                return "surface offset and tip radius together must stay within half the hinge radius, "
                    + RigParameters.Text(v[RigParameters.Radius] / 2, 6) + " mm";
            }

            hinge = new FixedRodHinge(radius, offset, tip);
        }
        else
        {
            bool bent = v[RigParameters.Form] == RigParameters.BentRod;
            hinge = new SwivelledRodHinge(
                rig.InUnits(RigParameters.NutArm),
                rig.InUnits(RigParameters.AnchorArm),
                bent ? rig.InUnits(RigParameters.BendRadius) : 0);
        }

        return CheckRod(rig, hinge) ?? CheckSpeeds(rig) ?? CheckPeriodic(rig) ?? MakeDesign(rig, hinge);
    }

    private static string CheckRod(RigParameters rig, HingeGeometry hinge)
    {
        if (rig.Values[RigParameters.Longest] - rig.Values[RigParameters.Shortest] < 1000000)
        {
            return "longest rod must be at least 1 mm more than shortest rod";
        }

        bool shortest = double.IsNaN(hinge.AngleRad(rig.InUnits(RigParameters.Shortest)));
        bool longest = double.IsNaN(hinge.AngleRad(rig.InUnits(RigParameters.Longest)));
        if (!shortest && !longest)
        {
            return null;
        }

        long from = (long)(hinge.RodLengthMm(hinge.MinAngleRad) * 100) + 1;
        long to = (long)(hinge.RodLengthMm(hinge.MaxAngleRad) * 100);
        int which = shortest ? RigParameters.Shortest : RigParameters.Longest;
        return RigParameters.Name(which) + " is " + RigParameters.Text(rig.Values[which], 6)
            + "; this linkage works from "
            + RigParameters.Text(from, 2) + " to " + RigParameters.Text(to, 2) + " mm of rod";
    }

    private static string CheckSpeeds(RigParameters rig)
    {
        double pitch = PitchMm(rig);
        if (pitch < 0.1 || pitch > 10)
        {
            return "pitch must be 0.1 to 10 mm";
        }

        return rig.Values[RigParameters.Approach] > rig.Values[RigParameters.PullIn]
            ? "approach speed must be 1 to the pull-in speed, " + rig.Values[RigParameters.PullIn] + " counts/s"
            : null;
    }

    private static string CheckPeriodic(RigParameters rig)
    {
        for (int i = 0; i < RigParameters.MostPeriodic; i++)
        {
            int first = RigParameters.Periodic + (3 * i);
            double amplitude = Math.Abs(rig.InUnits(first + 1)) / 1000 / PitchMm(rig);
            if (2 * Math.PI * amplitude / rig.InUnits(first) > PeriodicError.MaxEccentricity)
            {
                return RigParameters.Name(first + 1) + " of periodic error " + (i + 1) + " is "
                    + RigParameters.Text(rig.Values[first + 1], 3) + ", steeper than 0.3 of the thread over its period";
            }
        }

        return null;
    }

    private string MakeDesign(RigParameters rig, HingeGeometry hinge)
    {
        long[] v = rig.Values;
        GearTrain counts = new GearTrain(v[RigParameters.GearNumerator], v[RigParameters.GearDenominator])
            .WithPair((int)v[RigParameters.Steps], 1)?.WithPair((int)v[RigParameters.Microsteps], 1);
        if (counts == null)
        {
            return "the counts for one nut turn as a fraction have become too large, beyond 2^40";
        }

        double shortest = hinge.AngleRad(rig.InUnits(RigParameters.Shortest));
        double longest = hinge.AngleRad(rig.InUnits(RigParameters.Longest));
        bool opens = v[RigParameters.Opens] != 0;
        double pitch = PitchMm(rig);
        Design = new DriveDesign(
            hinge, opens ? shortest : longest, opens ? longest : shortest, RateRadPerSec(rig), pitch, counts);
        Design.Periodic = PeriodicOf(rig, pitch);
        double slope = rig.InUnits(RigParameters.RateSlope);
        double curve = rig.InUnits(RigParameters.RateCurve);
        double holdHours = rig.InUnits(RigParameters.RateHold) / 60;
        if (Math.Abs(slope * holdHours) + Math.Abs(curve * holdHours * holdHours) > 50000)
        {
            return "rate slope and curve change the rate by more than 50000 ppm until the hold: check the three";
        }

        Design.ChangeRate(slope, curve, holdHours * 3600);
        double fastest = 0;
        for (int i = 0; i <= 100; i++)
        {
            double speed = Design.CountsPerSecAt(Design.TravelSec * i / 100);
            fastest = speed > fastest ? speed : fastest;
        }

        return fastest > v[RigParameters.PullIn]
            ? "pull-in speed is " + v[RigParameters.PullIn] + " counts/s and this drive needs "
                + (fastest < 1e9 ? ((long)fastest + 1).ToString() : "over 1000000000")
                + " to follow the sky: take fewer microsteps"
            : null;
    }

    private static PeriodicError[] PeriodicOf(RigParameters rig, double pitchMm)
    {
        int used = 0;
        for (int i = 0; i < RigParameters.MostPeriodic; i++)
        {
            used += rig.Values[RigParameters.Periodic + (3 * i) + 1] != 0 ? 1 : 0;
        }

        PeriodicError[] errors = new PeriodicError[used];
        for (int i = 0, at = 0; i < RigParameters.MostPeriodic; i++)
        {
            int first = RigParameters.Periodic + (3 * i);
            if (rig.Values[first + 1] != 0)
            {
                errors[at++] = new PeriodicError(
                    rig.InUnits(first),
                    rig.InUnits(first + 1) / 1000 / pitchMm,
                    AngleUnits.FromDeg(rig.InUnits(first + 2)));
            }
        }

        return errors;
    }
}
