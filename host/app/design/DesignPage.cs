// What `hourhinge design PARTS` prints, as a table and as JSON.

using System.Text.Json;
using Hourhinge.App.Common;
using Hourhinge.Planning.Parts;
using Hourhinge.SharedMath.Geometry;
using static Hourhinge.App.Common.ConsoleOutput;

namespace Hourhinge.App.Design;

/// <summary>The answer about a box of parts.</summary>
internal sealed record DesignPage(PartsBox Box, SearchResult Result)
{
    /// <summary>Where the figures come from and how far they go.</summary>
    public const string Basis =
        "Torques come from elementary statics with dry friction (0.15), without the friction of "
        + "joints and a bent rod: measure the motor's current with the camera on. A motor's figures are its data "
        + "sheet's.";

    /// <summary>What to mind with these parts.</summary>
    public IReadOnlyList<string> Cautions
    {
        get
        {
            var list = new List<string>
            {
                "The screw is strong: keep fingers, hair and straps out of the hinge and the wheels while the pack is "
                + "connected.",
                "Tether the camera to the tripod, not to the moving board.",
                "Charge and carry lithium packs as their maker says, never swollen or wet; fuse the pack's lead.",
            };
            if (Result.Best.Any(b => b.Option.Hinge.Form == "bent-rod"))
            {
                list.Add("A bent rod springs when it slips from the former: wear eye protection, and clamp it.");
            }

            return list;
        }
    }

    /// <summary>The answer in one sentence.</summary>
    public string Sentence => Result.Best.Count == 0
        ? BuildReasons.Lacking(Box, Result)
        : $"Best: {Build(Result.Best[0].Option)}.";

    /// <summary>Why a build is not first; empty for the first.</summary>
    public string Reason(int i) =>
        i == 0 ? "" : BuildReasons.NotFirst(Result.Best[0].Figures, Result.Best[i].Figures);

    /// <summary>A build in words.</summary>
    public static string Build(BuildOption b) =>
        $"{b.Hinge.Form}, arm {Number(b.Hinge.ArmMm, 1)} mm, rod {b.Hinge.Rod.Label}, {Drive(b)}";

    /// <summary>Motor, wheels and microsteps in words.</summary>
    public static string Drive(BuildOption b) => $"{MotorName(b.Motor)}, wheels {b.Train.Label}"
        + (b.Motor is StepperPart ? $", {b.Microsteps} microsteps" : "");

    /// <summary>The gear as exact fractions: wheels, and counts for a turn of the nut.</summary>
    public static string Fractions(BuildOption b) =>
        b.MotorTurns is { } turns && b.CountsPerNutTurn is { } counts
            ? $"{Exact(turns)} motor turns, {Exact(counts)} {CountName(b.Motor)} a nut turn"
            : "";

    /// <summary>Prints tables and sentences.</summary>
    public void Print(Theme theme)
    {
        if (Result.Best.Count > 0)
        {
            Spectre.Console.Table builds = theme.Facts($"{Box.Name}: the best of {Result.Combinations} combinations");
            for (int i = 0; i < Result.Best.Count; i++)
            {
                BuildOption b = Result.Best[i].Option;
                theme.Row(builds, $"{i + 1}", Build(b));
                theme.Row(builds, "", Fractions(b));
                theme.Row(builds, "", i == 0 ? $"rod {Number(b.Hinge.ShortestMm, 1)} to "
                    + $"{Number(b.Hinge.LongestMm, 1)} mm, board {Number(b.Hinge.BoardMm, 0)} mm"
                    : $"Not first: {Reason(i)}.");
            }

            Theme.Show(builds);
            Spectre.Console.Table figures = theme.Table("What they mean for you",
                ["", .. Enumerable.Range(1, Result.Best.Count).Select(i => $"{i}")]);
            for (int c = 0; c < BuildFigures.Count; c++)
            {
                Criterion criterion = BuildFigures.Criteria[c];
                theme.Row(figures, [$"{criterion.Name}, {criterion.Unit}",
                    .. Result.Best.Select(b => BuildReasons.Figure(criterion, b.Figures.Values[c]))]);
            }

            theme.Row(figures, ["current, mA", .. Result.Best.Select(b => Number(b.Figures.SupplyMa, 0))]);
            theme.Row(figures, ["torque at the nut, N mm",
                .. Result.Best.Select(b => Number(b.Option.Hinge.NutTorqueNmm, 1))]);
            theme.Row(figures, ["cost (sum)", .. Result.Best.Select(b => Number(b.Figures.Cost, 2))]);
            Theme.Show(figures);
            theme.Line(Basis);
        }

        foreach (string caution in Cautions)
        {
            theme.Line(caution);
        }

        theme.Assessment(Sentence);
    }

    /// <summary>Prints JSON.</summary>
    public void WriteJson() => ConsoleOutput.WriteJson(w =>
    {
        w.WriteString("name", Box.Name);
        w.WriteNumber("combinations", Result.Combinations);
        w.WriteBoolean("possible", Result.Best.Count > 0);
        w.WriteString("sentence", Sentence);
        w.WriteStartArray("builds");
        for (int i = 0; i < Result.Best.Count; i++)
        {
            WriteBuild(w, i);
        }

        w.WriteEndArray();
        w.Texts("cautions", Cautions);
    });

    private void WriteBuild(Utf8JsonWriter w, int i)
    {
        BuildOption b = Result.Best[i].Option;
        BuildFigures f = Result.Best[i].Figures;
        w.WriteStartObject();
        w.WriteNumber("rank", i + 1);
        w.WriteString("form", b.Hinge.Form);
        w.WriteString("thread", b.Hinge.Rod.Label);
        w.Number("arm_mm", b.Hinge.ArmMm, 3);
        w.Number("rod_shortest_mm", b.Hinge.ShortestMm, 3);
        w.Number("rod_longest_mm", b.Hinge.LongestMm, 3);
        w.Number("board_mm", b.Hinge.BoardMm, 1);
        w.WriteString("motor", MotorName(b.Motor));
        w.WriteString("wheels", b.Train.Label);
        w.WriteString("wheels_fraction", Fraction(b.Train.Fraction));
        w.WriteString("motor_turns_per_nut_turn_fraction", Fraction(b.MotorTurns!));
        w.WriteString("counts_per_nut_turn_fraction", Fraction(b.CountsPerNutTurn!));
        w.WriteNumber("microsteps", b.Microsteps);
        for (int c = 0; c < BuildFigures.Count; c++)
        {
            w.Number(BuildFigures.Criteria[c].Key, f.Values[c], 4);
        }

        w.Number("current_ma", f.SupplyMa, 1);
        w.Number("nut_torque_nmm", b.Hinge.NutTorqueNmm, 2);
        w.Number("cost", f.Cost, 4);
        w.WriteString("not_first", Reason(i));
        w.WriteEndObject();
    }

    private static string Fraction(GearTrain t) => $"{t.Numerator}/{t.Denominator}";

    private static string MotorName(MotorPart m) => m.Name.Length > 0 ? m.Name : m.Kind;

    private static string CountName(MotorPart m) => m switch
    {
        StepperPart => "microsteps",
        DcPart { CountsPerTurn: > 0 } => "encoder counts",
        _ => "computed parts",
    };
}
