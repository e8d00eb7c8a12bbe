// A hinge that the box allows: form, arm and rod, with everything about it that gears and motors do not change.

using Hourhinge.SharedMath.Compile;
using Hourhinge.SharedMath.Geometry;
using Hourhinge.SharedMath.Rig;

namespace Hourhinge.Planning.Parts;

/// <summary>A hinge of the box. Immutable.</summary>
public sealed record HingeOption(
    RodPart Rod, string Form, double ArmMm, RigParameters Numbers, HingeGeometry Hinge, double ShortestMm,
    double LongestMm)
{
    // The nut, its wheel and the two pivots take this much of the gap between the boards (common practice, no source).
    private const double ShortestRodMm = 20;

    // Thread beyond the working length: nut and wheel 25 mm, anchor 15 mm (common practice, no source).
    private const double LostRodMm = 40;

    // From the outermost hole to the board's end (common practice, no source).
    private const double EdgeMm = 20;

    private const double MinArmMm = 80;
    private const double ArmStepMm = 5;
    private const double WidestDeg = 60;

    // No more travel than this multiple of what is wanted: a longer opening only makes the build taller.
    private const double SpareTravel = 1.5;

    /// <summary>Minutes of travel at the rate of the stars.</summary>
    public double TravelMin { get; private init; }

    /// <summary>Smallest and largest ds/dθ over the travel, mm per radian: the rod's lever on the hinge.</summary>
    public double MinLeverMm { get; private init; }

    /// <summary>See <see cref="MinLeverMm"/>.</summary>
    public double MaxLeverMm { get; private init; }

    /// <summary>Torque that the nut needs at the worst opening, N·mm.</summary>
    public double NutTorqueNmm { get; private init; }

    /// <summary>How far the camera's board stands open at its end, or the rod if it is longer; mm.</summary>
    public double TallMm { get; private init; }

    /// <summary>Length of the longest board that it needs, mm.</summary>
    public double BoardMm { get; private init; }

    /// <summary>
    /// Every hinge of the box, whatever its travel; forms in the order of the rig file's words. The longest rod and
    /// the legal range bound the travel.
    /// </summary>
    public static IReadOnlyList<HingeOption> All(PartsBox box)
    {
        var options = new List<HingeOption>();
        string[] forms = RigParameters.KeyOf(RigParameters.Form).Words;
        foreach (RodPart rod in box.Rods)
        {
            for (int form = 0; form < forms.Length; form++)
            {
                bool isBent = rod.BendRadiusMm > 0;
                if ((form == RigParameters.BentRod ? !rod.IsBendable && !isBent : isBent)
                    || (RigHinges.HasSecondArm(form) && !box.HasThirdBoard))
                {
                    continue;
                }

                foreach (double arm in Arms(box, rod))
                {
                    if (Of(box, rod, form, arm) is { } option)
                    {
                        options.Add(option);
                    }
                }
            }
        }

        return options;
    }

    // A row of holes; for a bent rod also its own radius, which needs no correction.
    private static IEnumerable<double> Arms(PartsBox box, RodPart rod)
    {
        int count = (int)Math.Floor((box.BoardMm - EdgeMm - MinArmMm) / ArmStepMm) + 1;
        IEnumerable<double> arms = Enumerable.Range(0, Math.Max(0, count)).Select(i => MinArmMm + (i * ArmStepMm));
        return rod.BendRadiusMm >= MinArmMm && rod.BendRadiusMm <= box.BoardMm - EdgeMm
            ? arms.Prepend(rod.BendRadiusMm)
            : arms;
    }

    private static HingeOption? Of(PartsBox box, RodPart rod, int form, double arm)
    {
        RigParameters numbers = Dimensions(form, arm, rod.BendRadiusMm > 0 ? rod.BendRadiusMm : arm);
        double board = BoardOf(numbers, arm) + EdgeMm;
        if (board > box.BoardMm || numbers.Check() != null || RigHinges.Check(numbers) != null)
        {
            return null;
        }

        HingeGeometry hinge = RigHinges.Build(numbers);
        double start = hinge.AngleRad(ShortestRodMm);
        double longestOfAll = Math.Min(rod.LengthMm - LostRodMm,
            hinge.RodLengthMm(hinge.MaxAngleRad) - 0.1);
        if (double.IsNaN(start) || !(longestOfAll - ShortestRodMm >= RigCompiler.MinTravelMm))
        {
            return null;
        }

        double turn = SpareTravel * box.Wanted.TravelMin * 60 * SkyRate.SiderealRadPerSec;
        double end = Math.Min(Math.Min(hinge.AngleRad(longestOfAll), start + turn), AngleUnits.FromDeg(WidestDeg));
        double longest = end > start ? Math.Floor(hinge.RodLengthMm(end) * 10) / 10 : 0;
        if (!(longest - ShortestRodMm >= RigCompiler.MinTravelMm))
        {
            return null;
        }

        end = hinge.AngleRad(longest);
        double[] levers = [.. Enumerable.Range(0, 21)
            .Select(i => hinge.RodSlopeMmPerRad(start + ((end - start) * i / 20)))];
        double camera = RigHinges.HasSecondArm(form) ? numbers.InUnits(RigParameters.ContactArm) : arm;
        return new HingeOption(rod, RigParameters.KeyOf(RigParameters.Form).Words[form], arm, numbers, hinge,
            ShortestRodMm, longest)
        {
            TravelMin = (end - start) / SkyRate.SiderealRadPerSec / 60,
            MinLeverMm = levers.Min(),
            MaxLeverMm = levers.Max(),
            // Work in equals work out: F·ds = M·dθ, so the rod carries F = M / (ds/dθ), whatever the form.
            NutTorqueNmm = ScrewStatics.NutTorqueNmm(box.Camera.MomentNmm / levers.Min(), rod.DiameterMm, rod.PitchMm),
            TallMm = Math.Max(longest, camera * 2 * Math.Sin(Math.Abs(end) / 2)),
            BoardMm = board,
        };
    }

    // Equal arms, the bend of the arm. Double arms: the ratios without an error of third order (DoubleArmHinge), where
    // there is one; the tip on the driving arm of a fixed rod has none and gets half the arm, which needs the least
    // rod.
    private static RigParameters Dimensions(int form, double arm, double bend)
    {
        var numbers = new RigParameters();
        numbers.Values[RigParameters.Form] = form;
        numbers.Set(RigParameters.NutArm, arm);
        numbers.Set(RigParameters.AnchorArm, arm);
        numbers.Set(RigParameters.BendRadius, bend);
        numbers.Set(RigParameters.Radius, arm);
        (double contact, double distance) = form switch
        {
            RigParameters.DriveTipStraight => (arm / 2, Math.Round(arm / 2 * (1 + (2 / Math.Sqrt(3))), 1)),
            RigParameters.DriveTipFixed => (arm, -arm / 2),
            RigParameters.CameraTipStraight => (arm, -arm / 2),
            _ => (arm / 2, -arm),
        };
        numbers.Set(RigParameters.ContactArm, contact);
        numbers.Set(RigParameters.HingeDistance, distance);
        return numbers;
    }

    // From the rearmost to the foremost hole of the base.
    private static double BoardOf(RigParameters numbers, double arm)
    {
        if (!RigHinges.HasSecondArm(numbers.Values[RigParameters.Form]))
        {
            return arm;
        }

        double distance = numbers.InUnits(RigParameters.HingeDistance);
        double contact = numbers.InUnits(RigParameters.ContactArm);
        return Math.Max(distance + Math.Max(arm, contact), contact) - Math.Min(0, distance);
    }
}
