// The page of `hourhinge rehearse RIG --html FILE`: did the camera stay with the sky, and how that was measured.

using Hourhinge.App.Common;
using Hourhinge.Rehearsal.Mechanisms;
using Hourhinge.Rehearsal.Tracking;
using Hourhinge.Report;
using Hourhinge.Report.Charts;
using static Hourhinge.App.Common.ConsoleOutput;

namespace Hourhinge.App.Rehearse;

internal static class RehearseHtml
{
    public static HtmlPage Page(LoadedRig loaded, RehearsePage page, RehearsalOptions options, bool textbook,
        bool night)
    {
        RehearsalResult r = page.Result;
        LensScale? lens = page.Lens;
        double allowed = page.AllowedArcsec;
        bool good = page.IsGood;
        string count = page.HalfCount;
        string limit = $"{Number(allowed, 2)} arcsec";
        string sentence = good
            ? $"Good: in {r.TrackedMinutes:0.#} minutes the camera is never more than {Number(r.PeakArcsec, 3)} "
                + $"arcsec from the sky; {limit} are allowed."
            : r.PeakArcsec <= allowed
            ? "Not good: the controller ends in fault."
            : $"Not good: in {r.TrackedMinutes:0.#} minutes the camera is up to {Number(r.PeakArcsec, 2)} "
                + $"arcsec from the sky; {limit} are allowed.";
        (string, string)[] pulses = r.Pulses is { } p ? [("Step pulses", $"{p.Sent} sent, {p.Lost} lost")] : [];
        string[] motor = [.. new[] { page.MotorAssumption, page.CorrectionRemark, page.PackSentence }.OfType<string>()];
        Band[] pixel = lens == null
            ? []
            : [new Band($"one pixel at {lens.FocalMm:0.#} mm, {Number(lens.ArcsecPerPixel, 1)} arcsec",
                -lens.ArcsecPerPixel / 2, lens.ArcsecPerPixel / 2)];
        return new HtmlPage($"{loaded.Rig.Name}: rehearsal",
            new AssessmentBanner(good ? AssessmentKind.Good : AssessmentKind.NotGood, sentence))
        {
            Night = night,
            Source = HtmlFile.Source("rehearse", loaded),
            Sections =
            [
                new Facts(
                    "The result",
                    [("Tracked", $"{Number(r.TrackedMinutes, 1)} min"),
                    ("Largest error", $"{Number(r.PeakArcsec, 3)} arcsec{Pixels(r.PeakArcsec)}"),
                    ("Root mean square", $"{Number(r.RmsArcsec, 3)} arcsec"),
                    ("Rate error", $"{Number(r.RateErrorPercent, 4)} %"),
                    (char.ToUpperInvariant(count[0]) + count[1..], $"{Number(r.HalfCountArcsec, 3)} arcsec"),
                    ("Largest error, first and last minute",
                        $"{Number(r.PeakFirstMinuteArcsec, 3)} and {Number(r.PeakLastMinuteArcsec, 3)} arcsec"),
                    .. pulses,
                    ("Controller's lateness",
                        $"worst {Number(r.LatenessSec.Worst, 4)} s, mean {Number(r.LatenessSec.Mean, 4)} s, a pass "
                        + $"every {options.LoopPeriodMs:0.#} ms"),
                    ("Controller ends in state", r.FinalState)]),
                new DataTable("Error at minutes", [Column.Number("after", "min"), Column.Number("Hourhinge", "arcsec"),
                    .. PixelColumn("Hourhinge"), Column.Number("constant voltage", "arcsec"),
                    .. PixelColumn("constant voltage")], Rows(page))
                {
                    Lead = "Hinge minus sky: below 0 the camera is behind. " + page.ConstantAssumption,
                },
                new Chart(
                    "Error with Hourhinge",
                    $"{(good ? "The error stays within the limit" : "The error leaves the limit")}: largest "
                    + $"{Number(r.PeakArcsec, 3)} arcsec, {Number(r.PeakFirstMinuteArcsec, 3)} in the first minute "
                    + $"and {Number(r.PeakLastMinuteArcsec, 3)} in the last.",
                    new Axis("minutes since the start") { From = 0, To = r.TrackedMinutes },
                    new Axis("arcsec (below 0: behind the sky)"))
                {
                    Lead = "Each point is the largest error since the point before.",
                    Series = [new Series("Hourhinge", r.Minutes, r.TrackedArcsec)],
                    Marks = r.PeakArcsec < 5 * r.HalfCountArcsec ? [new Mark(count, r.HalfCountArcsec),
                        new Mark(count, -r.HalfCountArcsec)] : [],
                },
                new Chart(
                    "Beside a constant-voltage drive",
                    $"After {Number(r.Minutes[^1], 0)} minutes the constant-voltage drive is "
                    + $"{Number(r.ConstantArcsec[^1], 1)} arcsec from the sky, Hourhinge "
                    + $"{Number(r.TrackedArcsec[^1], 3)}.",
                    new Axis("minutes since the start") { From = 0, To = r.TrackedMinutes },
                    new Axis("arcsec (below 0: behind the sky)"))
                {
                    Series = [new Series("Hourhinge", r.Minutes, r.TrackedArcsec),
                        new Series("constant voltage", r.Minutes, r.ConstantArcsec)],
                    Bands = pixel,
                },
                new Facts("Faults simulated", Faults(options, textbook)),
                new Notes(
                    "How this was measured",
                    [$"The controller's own firmware ran on a virtual board in virtual time ({r.LoopCount} passes of "
                    + "its loop) and turned a linkage that is solved on points in the plane, not by the closed form "
                    + "that made its profile. The error is hinge angle minus sky, taken "
                    + (r.Drive == "stepper" ? "before and after every microstep." : "every 10 ms."),
                    .. motor,
                    "This shows what the drive can do with the mechanics as written, and with the faults above. It "
                    + "does not show flexing boards, wind or an axis that misses the pole."]),
                HtmlFile.RigCautions,
            ],
        };

        string Pixels(double arcsec) => lens == null
            ? ""
            : $" = {Number(arcsec / lens.ArcsecPerPixel, 2)} pixels at {lens.FocalMm:0.#} mm";
        IEnumerable<Column> PixelColumn(string head) => LensScale.PixelColumn(lens, head);
    }

    private static string[][] Rows(RehearsePage page) => [.. page.TableRows.Select(row =>
    {
        double tracked = page.Result.TrackedArcsec[row.Index];
        double constant = page.Result.ConstantArcsec[row.Index];
        return page.Lens is not { } lens
            ? new[] { $"{row.Minute}", Number(tracked, 3), Number(constant, 2) }
            : [$"{row.Minute}", Number(tracked, 3), Number(tracked / lens.ArcsecPerPixel, 2), Number(constant, 2),
                Number(constant / lens.ArcsecPerPixel, 2)];
    })];

    private static (string Name, string Value)[] Faults(RehearsalOptions options, bool textbook)
    {
        MechanicalFaults f = options.Board.Faults;
        (string Name, double Amount, string Unit)[] all =
        [
            ("Arms longer than written", f.RadiusErrorPercent, "%"),
            ("Rod bent to a larger radius", f.BendErrorPercent, "%"),
            ("Rod not circular", f.RodWaveUm, "µm"),
            ("Periodic error of one nut turn", f.PeriodicArcsec, "arcsec"),
            ("Controller's crystal fast", options.Board.CrystalErrorPpm, "ppm"),
            ("Steps lost at random", options.Board.LostStepsPerThousand, "per 1000"),
        ];
        return
        [
            ("Form", textbook ? "textbook: started square, no surface offset, no tip radius" : "as the rig file says"),
            .. all.Where(a => a.Amount != 0).Select(a => (a.Name, $"{a.Amount:0.###} {a.Unit}")),
            .. all.All(a => a.Amount == 0) ? new[] { ("Others", "none") } : [],
        ];
    }
}
