// From a rig's parameters to its drive profile: the same source on the host and on the controller, so that both get
// the same motion. The geometry, the rates and the fitting are in their own files.

using System;
using Hourhinge.SharedMath.Geometry;
using Hourhinge.SharedMath.Profile;
using Hourhinge.SharedMath.Rig;

namespace Hourhinge.SharedMath.Compile;

/// <summary>Checks that the parameters fit together and compiles them. Throws nothing; see
/// <see cref="Error"/>.</summary>
public sealed class RigCompiler
{
    // Microsteps with which the last rig may fit, 0 for none; negative: the error has no remedy of this kind.
    private long _estimate;
    private string _withoutMicrosteps;

    /// <summary>Shortest travel along the rod, mm.</summary>
    public const int MinTravelMm = 1;

    /// <summary>Smallest and largest pitch, mm.</summary>
    public const double MinPitchMm = 0.1, MaxPitchMm = 10;

    /// <summary>Why there is no profile: one sentence with name, value and range; null after a success.</summary>
    public string Error { get; private set; }

    /// <summary>The closed form of the last rig that was compiled.</summary>
    public DriveDesign Design { get; private set; }

    /// <summary>Proved bound of |evaluator − closed form|, counts.</summary>
    public double ErrorBoundCounts { get; private set; }

    /// <summary>Highest speed that the drive needs to follow the sky, counts/s.</summary>
    public double FastestCountsPerSec { get; private set; }

    /// <summary>Most microsteps, tried, with which the rig that failed compiles; 0 when there are none or when they do
    /// not matter.</summary>
    public long MicrostepsThatFit { get; private set; }

    /// <summary>Compiles a rig. Name, DC settings and shutter program are taken from <paramref name="from"/>, which may
    /// be null.</summary>
    public DriveProfile Compile(RigParameters rig, DriveProfile from)
    {
        Error = rig.Check() ?? RigHinges.Check(rig);
        return Error == null ? Compile(rig, RigHinges.Build(rig), from) : null;
    }

    /// <summary>Compiles a rig whose hinge the caller has built: <see cref="RigHinges.Build"/>.</summary>
    public DriveProfile Compile(RigParameters rig, HingeGeometry hinge, DriveProfile from)
    {
        MicrostepsThatFit = 0;
        DriveProfile profile = TryCompile(rig, hinge, from);
        if (profile == null && _estimate >= 0)
        {
            Error += Remedy(rig, hinge);
        }

        return profile;
    }

    private DriveProfile TryCompile(RigParameters rig, HingeGeometry hinge, DriveProfile from)
    {
        Design = null;
        _estimate = -1;
        Error = rig.Check() ?? CheckRod(rig, hinge) ?? CheckSpeeds(rig) ?? CheckPeriodic(rig) ?? MakeDesign(rig, hinge);
        if (Error != null)
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
        profile.BackOffCounts = backOff < 1 ? 1 : 1000000 < backOff ? 1000000 : (int)backOff;
        profile.ClockTrimPpb = (int)rig.Values[RigParameters.ClockTrim];
        profile.Dc = from == null || profile.DriveKind == DriveProfile.Stepper ? null : DcOf(from);
        profile.Shutter = from?.Shutter;
        profile.Rig = rig;
        ProfileCompiler compiler = new ProfileCompiler(Design);
        Error = compiler.Compile(profile) ? ProfileSafety.Check(profile) : compiler.Error;
        if (Error != null && Error == compiler.Error)
        {
            Estimate(rig, compiler);
        }

        ErrorBoundCounts = compiler.ErrorBoundCounts;
        Error = Error ?? CheckBackOff(profile, rig);
        return Error == null ? profile : null;
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

    // Segments needed grow with the fourth root of the counts, or, when segments are full, with the counts. What
    // exceeds 0.01 step beyond the segments' 0.006 grows with the counts.
    private void Estimate(RigParameters rig, ProfileCompiler compiler)
    {
        double f = compiler.FittedFraction;
        double excess = compiler.ErrorBoundCounts - 0.006;
        if (!(f < 1) && !(ProfileCompiler.MaxErrorCounts < compiler.ErrorBoundCounts))
        {
            return;
        }

        double countsPerSegment = Math.Abs(Design.SmoothCountsAt(f * Design.TravelSec)) / DriveProfile.MaxSegments;
        double full = (double)DriveProfile.CoefficientLimit / DriveProfile.OneCount;
        double share = !(f < 1) ? 0.0035 / excess : full / 2 < countsPerSegment ? 0.9 * f : f * f * f * f;
        _estimate = (long)(rig.Values[RigParameters.Microsteps] * share);
        _withoutMicrosteps = " It needs less gear reduction: about "
            + RigParameters.Format((long)(share * 1000), 1) + " % of the counts for a nut turn.";
    }

    // The largest of the estimate, its half, its quarter... with which the rig compiles: an estimate is never named
    // untried.
    private string Remedy(RigParameters rig, HingeGeometry hinge)
    {
        for (long microsteps = _estimate; microsteps >= 1; microsteps /= 2)
        {
            RigParameters trial = rig.Copy();
            trial.Values[RigParameters.Microsteps] = microsteps;
            if (new RigCompiler().TryCompile(trial, hinge, null) != null)
            {
                MicrostepsThatFit = microsteps;
                return " It fits with motor.microsteps = " + microsteps + " or less.";
            }
        }

        return _withoutMicrosteps;
    }

    // The speed curve was measured at the nut: with another gear or other counts a turn it stays the same there.
    private DcSettings DcOf(DriveProfile from)
    {
        GearTrain counts = Design.CountsPerNutTurn;
        return from.Dc == null || from.Counts == 0
            || (from.Counts == counts.Numerator && from.NutTurns == counts.Denominator)
            ? from.Dc
            : DcTuning.InOtherCounts(from.Dc, counts.Ratio * from.NutTurns / from.Counts);
    }

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

    /// <summary>Which rod lengths a hinge works with, as a sentence.</summary>
    public static string RodRange(HingeGeometry hinge)
    {
        long from = (long)Math.Ceiling(hinge.RodLengthMm(hinge.MinAngleRad) * 100);
        long to = (long)Math.Floor(hinge.RodLengthMm(hinge.MaxAngleRad) * 100);
        return "this linkage works from " + RigParameters.Format(from, 2) + " to " + RigParameters.Format(to, 2)
            + " mm of rod";
    }

    /// <summary>Largest amplitude of a periodic error along the rod, micrometres: it must not be steeper than
    /// <see cref="PeriodicError.MaxSteepness"/> of the thread.</summary>
    public static double MaxAmplitudeUm(double periodNutTurns, double pitchMm) =>
        PeriodicError.MaxSteepness * periodNutTurns * pitchMm * 1000 / (2 * Math.PI);

    private static string CheckRod(RigParameters rig, HingeGeometry hinge)
    {
        if (rig.Values[RigParameters.Longest] - rig.Values[RigParameters.Shortest] < MinTravelMm * 1000000)
        {
            return "rod.longest_mm must be at least 1 mm more than rod.shortest_mm";
        }

        int wrong = double.IsNaN(hinge.AngleRad(rig.InUnits(RigParameters.Shortest))) ? RigParameters.Shortest
            : double.IsNaN(hinge.AngleRad(rig.InUnits(RigParameters.Longest))) ? RigParameters.Longest : -1;
        return wrong < 0
            ? null
            : RigParameters.KeyOf(wrong).Key + " is " + RigParameters.Format(rig.Values[wrong], 6) + "; "
                + RodRange(hinge);
    }

    private static string CheckSpeeds(RigParameters rig)
    {
        double pitch = PitchMm(rig);
        if (pitch < MinPitchMm || MaxPitchMm < pitch)
        {
            return "pitch must be 0.1 to 10 mm";
        }

        return rig.Values[RigParameters.Approach] > rig.Values[RigParameters.PullIn]
            ? "approach speed must be 1 to the pull-in speed, " + rig.Values[RigParameters.PullIn] + " counts/s"
            : null;
    }

    private static string CheckBackOff(DriveProfile profile, RigParameters rig)
    {
        long end = new ProfileEvaluator(profile).EndQ16 >> DriveProfile.FractionBits;
        long travel = rig.Values[RigParameters.Longest] - rig.Values[RigParameters.Shortest];
        return profile.Has(DriveProfile.HomeSwitchFitted) && profile.HasLongBackOff(end)
            ? RigParameters.KeyOf(RigParameters.BackOff).Key + " = "
                + RigParameters.Format(rig.Values[RigParameters.BackOff], 6)
                + ": a rewind may back off eight times, further than the travel of " + RigParameters.Format(travel, 6)
                + " mm; it must be at most "
                + RigParameters.Format(((travel / DriveProfile.MaxBackOffs / 10000) - 1) * 10000, 6) + " mm"
            : null;
    }

    private static string CheckPeriodic(RigParameters rig)
    {
        for (int i = 0; i < RigParameters.MaxPeriodic; i++)
        {
            int first = RigParameters.Periodic + (3 * i);
            if (MaxAmplitudeUm(rig.InUnits(first), PitchMm(rig)) < rig.InUnits(first + 1))
            {
                return RigParameters.KeyOf(first + 1).Key + " of periodic error " + (i + 1) + " is "
                    + RigParameters.Format(rig.Values[first + 1], 3)
                    + ", steeper than 0.3 of the thread over its period";
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
        if (50000 < Math.Abs(slope * holdHours) + Math.Abs(curve * holdHours * holdHours))
        {
            return "rate slope and curve change the rate by more than 50000 ppm until the hold: check the three";
        }

        Design.ChangeRate(slope, curve, holdHours * 3600);
        FastestCountsPerSec = 0;
        double steepness = Design.PeriodicSteepness;
        if (!(steepness <= ProfileCompiler.MaxPeriodicSteepness))
        {
            return "the periodic errors together are steeper than 0.9 of the thread: check periodic.amplitude_um";
        }

        for (int i = 0; i <= 100; i++)
        {
            double speed = Design.CountsPerSecAt(Design.TravelSec * i / 100) / (1 - steepness);
            FastestCountsPerSec = FastestCountsPerSec < speed ? speed : FastestCountsPerSec;
        }

        if (!(v[RigParameters.PullIn] < FastestCountsPerSec))
        {
            return null;
        }

        _estimate = (long)(v[RigParameters.Microsteps] * (double)v[RigParameters.PullIn] / FastestCountsPerSec);
        _withoutMicrosteps = " Take less gear reduction.";
        return "pull-in speed is " + v[RigParameters.PullIn] + " counts/s and this drive needs "
            + (FastestCountsPerSec < 1e9 ? ((long)FastestCountsPerSec + 1).ToString() : "over 1000000000")
            + " to follow the sky.";
    }

    private static PeriodicError[] PeriodicOf(RigParameters rig, double pitchMm)
    {
        int used = 0;
        for (int i = 0; i < RigParameters.MaxPeriodic; i++)
        {
            used += rig.Values[RigParameters.Periodic + (3 * i) + 1] != 0 ? 1 : 0;
        }

        PeriodicError[] errors = new PeriodicError[used];
        for (int i = 0, at = 0; i < RigParameters.MaxPeriodic; i++)
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
