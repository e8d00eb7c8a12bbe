// From a rig to its drive: the closed form, and the compiled profile. The mathematics itself is shared-math's.

using Hourhinge.SharedMath;

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
    public static double RateRadPerSec(Rig rig)
    {
        double rate = rig.Rate.Follow switch
        {
            "sun" => SkyRate.SolarRadPerSec,
            "moon" => SkyRate.LunarRadPerSec,
            "refracted-stars" => SkyRate.SiderealRadPerSec * SkyRate.RefractionRateFactor(
                Angle.FromDeg(rig.Site!.LatitudeDeg),
                Angle.FromDeg(rig.Rate.DeclinationDeg!.Value),
                Angle.FromDeg(rig.Rate.HourAngleHours!.Value * 15)),
            _ => SkyRate.SiderealRadPerSec,
        };
        return rate * (1 + (rig.Rate.CorrectionPpm * 1e-6));
    }

    /// <summary>The closed form of the rig's drive.</summary>
    public static DriveDesign Design(Rig rig)
    {
        double shortest = rig.Hinge.AngleRad(rig.Rod.ShortestMm);
        double longest = rig.Hinge.AngleRad(rig.Rod.LongestMm);
        GearTrain counts = rig.MotorTurnsPerNutTurn.Then(rig.Motor.FullSteps, 1)?.Then(rig.Motor.Microsteps, 1)
            ?? throw new RigFileException("gear.pairs and motor: the steps for one nut turn as a fraction have become too large (beyond 2^40).");
        return new DriveDesign(
            rig.Hinge,
            rig.Opens ? shortest : longest,
            rig.Opens ? longest : shortest,
            RateRadPerSec(rig),
            rig.Rod.PitchMm,
            counts)
        {
            Periodic = [.. rig.Periodic.Select(p => new PeriodicError(
                p.PeriodNutTurns, p.AmplitudeUm / 1000 / rig.Rod.PitchMm, Angle.FromDeg(p.PhaseDeg)))],
        };
    }

    /// <summary>Compiles a rig; <paramref name="rigDigest"/> is the CRC-32 of its file's bytes.</summary>
    public static CompiledDrive Compile(Rig rig, uint rigDigest)
    {
        DriveDesign design = Design(rig);
        double fastest = Enumerable.Range(0, 101).Max(i => design.CountsPerSecAt(design.TravelSec * i / 100));
        if (fastest > rig.Motor.PullInStepsPerSec)
        {
            throw new RigFileException(
                $"motor.pull_in_steps_per_sec = {rig.Motor.PullInStepsPerSec}: this drive needs up to {fastest:0.#} microsteps/s to follow the sky; allowed is {Math.Ceiling(fastest)} to 100000, or take fewer microsteps.");
        }

        double countsPerMm = design.CountsPerNutTurn.Ratio / rig.Rod.PitchMm;
        var profile = new DriveProfile
        {
            RigName = rig.Name,
            RigDigest = rigDigest,
            DriveKind = DriveProfile.Stepper,
            Flags = (rig.Motor.Reversed ? DriveProfile.MotorReversed : 0)
                | (rig.Switches.Home ? DriveProfile.HomeSwitchFitted : 0)
                | (rig.Switches.End ? DriveProfile.EndSwitchFitted : 0)
                | (rig.Motor.ReleaseWhenIdle ? DriveProfile.ReleaseWhenIdle : 0)
                | (rig.Opens ? 0 : DriveProfile.HingeCloses),
            RewindCountsPerSec = rig.Motor.RewindStepsPerSec,
            RampCountsPerSec2 = rig.Motor.RampStepsPerSec2,
            PullInCountsPerSec = rig.Motor.PullInStepsPerSec,
            ApproachCountsPerSec = rig.Motor.ApproachStepsPerSec,
            BackOffCounts = (int)Math.Clamp(Math.Round(rig.Switches.BackOffMm * countsPerMm), 1, 1000000),
            ClockTrimPpb = (int)Math.Round(rig.ClockTrimPpm * 1000),
        };
        var compiler = new ProfileCompiler(design);
        if (!compiler.Compile(profile))
        {
            throw new RigFileException($"{rig.Name}: {compiler.Refusal}");
        }

        if (ProfileSafety.Check(profile) is { } refusal)
        {
            throw new RigFileException($"{rig.Name}: {refusal}.");
        }

        return new CompiledDrive(design, profile, ProfileCodec.Encode(profile), compiler.ErrorBoundCounts);
    }
}
