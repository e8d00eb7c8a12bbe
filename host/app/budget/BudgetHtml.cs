// The page of `hourhinge budget RIG --html FILE`: what blurs the exposure, what to improve first, how long it may be.

using Hourhinge.App.Common;
using Hourhinge.Planning;
using Hourhinge.Report;
using Hourhinge.Report.Charts;
using static Hourhinge.App.Common.ConsoleOutput;

namespace Hourhinge.App.Budget;

internal static class BudgetHtml
{
    public static HtmlPage Page(LoadedRig loaded, BudgetPage page, bool night)
    {
        (BudgetInput ask, ExposureBudget budget, StackDepth depth) = (page.Input, page.Budget, page.Depth);
        bool good = budget.TrackingBlurArcsec <= page.AllowedArcsec;
        double perPixel = ask.ArcsecPerPixel;
        string blur =
            $"{Number(budget.TrackingBlurArcsec, 1)} arcsec ({Number(budget.TrackingBlurArcsec / perPixel, 1)} pixels)";
        string longest = page.Seconds(page.LongestSec)
            + (page.LongestSec < ask.Drive.Design.TravelSec - 0.01 ? " s" : "");
        string sentence = good
            ? $"Good: {ask.ExposureSec:0.#} s at {ask.FocalMm:0.#} mm blur {blur}; {Number(page.AllowedArcsec, 1)} "
                + "arcsec are allowed."
            : $"Not good: {ask.ExposureSec:0.#} s at {ask.FocalMm:0.#} mm blur {blur}; "
                + $"{Number(page.AllowedArcsec, 1)} arcsec are allowed. Longest now: "
                + $"{longest}. First: {page.First}.";
        double frames = depth.FramesFor(page.SurfaceMag, ask.ExposureSec, page.SignalToNoise);
        double untracked = page.AllowedArcsec / budget.LongestUntrackedSec(page.AllowedArcsec);
        return new HtmlPage($"{ask.Rig.Name}: exposure budget",
            new AssessmentBanner(good ? AssessmentKind.Good : AssessmentKind.NotGood, sentence))
        {
            Night = night,
            Source = HtmlFile.Source("budget", loaded),
            Sections =
            [
                new Facts(
                    "The exposure",
                    ("Exposure", $"{ask.ExposureSec:0.#} s"),
                    ("Lens", $"{ask.FocalMm:0.#} mm at f/{ask.FocalRatio:0.#}"),
                    ("One pixel", $"{Number(perPixel, 2)} arcsec"),
                    ("Target",
                        $"declination {ask.DeclinationDeg:0.#}°, hour angle {ask.HourAngleHours:0.#} h, altitude "
                        + $"{budget.AltitudeDeg:0}°"),
                    ("Mostly blurred by", budget.Dominant.Name)),
                new DataTable(
                    "Sources of blur",
                    [Column.Text("source"), Column.Number("blur", "arcsec"), Column.Number("blur", "pixels"),
                        Column.Text("from")],
                    [.. budget.Sources.Select(s =>
                        (string[])[s.Name, Number(s.Arcsec, 2), Number(s.Arcsec / perPixel, 2), s.Basis])])
                {
                    Lead = $"Those that grow with time stand first; added in squares they typically make {blur}, "
                        + "and all in "
                        + $"one direction at most {Number(budget.BoundArcsec, 1)} arcsec.",
                },
                new DataTable(
                    $"Longest exposure within {Number(page.AllowedArcsec, 1)} arcsec",
                    [Column.Text("rig"), Column.Number("exposure", "s"), Column.Text("what to do")],
                    [
                        ["now, typical", page.Seconds(page.LongestSec), "–"],
                        ["now, bound", page.Seconds(page.LongestBoundSec), "if all sources act in one direction"],
                        .. page.Steps.Select(s =>
                            (string[])[$"and without: {s.Removed.Name}", page.Seconds(s.LongestSec), s.Removed.Remedy]),
                        ["without tracking", page.Seconds(budget.LongestUntrackedSec(page.AllowedArcsec)),
                            $"rule of thumb 500/(f × crop): {Number(budget.RuleOfFiveHundredSec, 1)} s"],
                    ]),
                new Chart(
                    "Blur against exposure",
                    $"The limit of {Number(page.AllowedArcsec, 1)} arcsec is reached after "
                    + $"{longest} as the rig stands, and after "
                    + $"{Number(budget.LongestUntrackedSec(page.AllowedArcsec), 1)} s without tracking.",
                    new Axis("exposure, seconds") { IsLog = true },
                    new Axis("blur, arcsec") { IsLog = true })
                {
                    Series =
                    [
                        new Series("as the rig stands", page.CurveSec, page.CurveNow),
                        new Series("with the three improvements", page.CurveSec, page.CurveReduced),
                        new Series("no tracking", page.CurveSec, [.. page.CurveSec.Select(t => t * untracked)]),
                    ],
                    Marks = [new Mark("allowed", page.AllowedArcsec)],
                },
                new Facts(
                    "How deep",
                    [("Sky", $"{depth.SkyMagPerArcsec2:0.#} mag/arcsec²"),
                    ("Read noise adds under 5 % from", $"{Number(depth.SkyLimitedSec(), 1)} s a frame"),
                    ($"Frames for {page.SurfaceMag:0.#} mag/arcsec² at S/N {page.SignalToNoise:0.#} a pixel",
                        $"{frames:0} of {ask.ExposureSec:0.#} s, {frames * ask.ExposureSec / 3600:0.0} h"),
                    .. page.PackSentence is { } pack ? new[] { ("Pack", pack) } : []]),
                new Notes(
                    "How this was computed",
                    "Each source is the length of the trail that it alone would leave in the exposure; axis and "
                    + "refraction act the worst way that their size allows. Steps, pixel, diffraction and seeing do "
                    + "not grow with time and stand there for scale.",
                    "Depth is by the CCD equation: signal grows with time, noise with its square root. What was "
                    + "assumed says so in the table; measure it and write it into the rig file."),
                HtmlFile.RigCautions,
            ],
        };
    }
}
