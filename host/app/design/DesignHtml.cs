// The page of `hourhinge design PARTS --html FILE`.

using Hourhinge.Planning.Parts;
using Hourhinge.Report;
using static Hourhinge.App.Common.ConsoleOutput;

namespace Hourhinge.App.Design;

internal static class DesignHtml
{
    public static HtmlPage Page(DesignPage page, string file, bool night)
    {
        IReadOnlyList<RankedBuild> best = page.Result.Best;
        return new HtmlPage($"{page.Box.Name}: builds",
            new AssessmentBanner(best.Count > 0 ? AssessmentKind.Good : AssessmentKind.NotGood, page.Sentence))
        {
            Night = night,
            Source = $"Made by: hourhinge design {file}. {page.Result.Combinations} combinations.",
            Sections = best.Count > 0 ? Sections(page, best) : [new Cautions([.. page.Cautions])],
        };
    }

    private static IReadOnlyList<Section> Sections(DesignPage page, IReadOnlyList<RankedBuild> best) =>
    [
        .. best.Select((b, i) => (Section)new Facts(
            $"Build {i + 1}",
            [
                ("Hinge", $"{b.Option.Hinge.Form}, arm {Number(b.Option.Hinge.ArmMm, 1)} mm, board "
                    + $"{Number(b.Option.Hinge.BoardMm, 0)} mm"),
                ("Rod", $"{b.Option.Hinge.Rod.Label}, {Number(b.Option.Hinge.ShortestMm, 1)} to "
                    + $"{Number(b.Option.Hinge.LongestMm, 1)} mm"),
                ("Motor and wheels", DesignPage.Drive(b.Option)),
                ("Exactly", DesignPage.Fractions(b.Option)),
                .. i == 0 ? Array.Empty<(string, string)>() : [("Not first", page.Reason(i))],
            ])),
        new DataTable(
            "What they mean for you",
            [Column.Text("Figure"), .. best.Select((_, i) => Column.Number($"{i + 1}"))],
            [
                .. BuildFigures.Criteria.Select((c, at) => (IReadOnlyList<string>)
                    [$"{c.Name}, {c.Unit}", .. best.Select(b => BuildReasons.Figure(c, b.Figures.Values[at]))]),
                ["current, mA", .. best.Select(b => Number(b.Figures.SupplyMa, 0))],
                ["torque at the nut, N mm", .. best.Select(b => Number(b.Option.Hinge.NutTorqueNmm, 1))],
                ["cost (sum)", .. best.Select(b => Number(b.Figures.Cost, 2))],
            ]),
        new Notes(
            "How this was found",
            DesignPage.Basis,
            "Each figure has a cost of log2(1 + figure / comfortable figure); builds are ranked by the sum. A build "
            + "that lacks anything wanted is left out."),
        new Cautions([.. page.Cautions]),
    ];
}
