// The page of `hourhinge profile RIG --html FILE`: the figures of its tables, with curves and how they were
// measured.

using Hourhinge.App.Common;
using Hourhinge.Report;
using Hourhinge.Report.Charts;
using Hourhinge.SharedMath.Geometry;
using static Hourhinge.App.Common.ConsoleOutput;

namespace Hourhinge.App.Profile;

internal static class ProfileHtml
{
    public static HtmlPage Page(LoadedRig loaded, ProfileReport r, bool night)
    {
        double[] at = r.Stations;
        LensScale? lens = LensScale.Of(r.Rig, null);
        double minutes = Math.Min(60, Math.Floor(r.TravelMin));
        double drift = r.Uncorrected(minutes * 60);
        string correction = Number(r.CorrectionPercent(at[2]), 2);
        string speed = Number(r.NutTurnsPerMin(at[0]), 4);
        bool steady = r.CurveUncorrectedArcsec.All(e => Math.Abs(e) < 0.05);
        string sentence = steady
            ? $"The nut turns {speed} times a minute from start to end: this hinge needs no correction."
            : $"The nut turns {speed} times a minute at the start and {Number(r.NutTurnsPerMin(at[2]), 4)} at the "
                + $"end ({Signed(correction)} %); at a constant speed the camera would be "
                + $"{Number(Math.Abs(drift), 1)} arcsec off the sky in {minutes:0} minutes.";
        return new HtmlPage($"{r.Rig.Name}: drive profile", new AssessmentBanner(AssessmentKind.Finding, sentence))
        {
            Night = night,
            Source = HtmlFile.Source("profile", loaded),
            Sections =
            [
                new Facts(
                    "The rig",
                    ("Hinge", HingeText(r.Rig.Hinge)),
                    ("Thread",
                        $"{(string.IsNullOrEmpty(r.Rig.Rod.Thread) ? "measured" : r.Rig.Rod.Thread)}, pitch "
                        + $"{Number(r.Rig.Rod.PitchMm, 5)} mm"),
                    ("Travel",
                        $"{Number(r.TravelMin, 1)} min, from {Number(r.StartAngleDeg, 2)}° to "
                        + $"{Number(r.EndAngleDeg, 2)}°"),
                    ("Sky's rate", $"{Number(r.RateArcsecPerSec, 4)} arcsec/s"),
                    ("One nut turn", r.StepsPerNutTurnText),
                    ("Drive profile", $"{r.ProfileBytes} bytes, {r.Segments} segments")),
                new DataTable(
                    "The drive over the travel",
                    [Column.Text("Quantity"), Column.Number("start"), Column.Number("middle"), Column.Number("end")],
                    [
                        Row("time, min", t => t / 60, 1),
                        Row("nut turns a minute", r.NutTurnsPerMin, 5),
                        Row($"{r.Rig.Motor.CountNames} a second", r.StepsPerSec, 3),
                        Row("correction, %", r.CorrectionPercent, 3),
                        Row($"arcsec a {r.Rig.Motor.CountName}", r.ArcsecPerStep, 4),
                    ]),
                new Chart(
                    "The speed that the sky needs",
                    $"The nut's speed changes from {Number(r.NutTurnsPerMin(at[0]), 5)} turns a minute at the start "
                    + $"through {Number(r.NutTurnsPerMin(at[1]), 5)} in the middle to "
                    + $"{Number(r.NutTurnsPerMin(at[2]), 5)} at the end.",
                    new Axis("minutes since the start"),
                    new Axis("nut turns a minute") { MinSpan = r.NutTurnsPerMin(0) * 0.002 })
                {
                    Series = [new Series("speed needed", r.CurveMinutes, r.CurveNutTurnsPerMin)],
                    Marks = [new Mark("constant speed, right at the start", r.NutTurnsPerMin(0))],
                },
                new DataTable(
                    "What a constant speed would do",
                    [Column.Number("after", "min"), Column.Number("error", "arcsec"),
                        .. LensScale.PixelColumn(lens, "error")],
                    [.. ProfileReport.TableMinutes.Where(m => m <= r.TravelMin)
                        .Select(m => ErrorRow(m, r.Uncorrected(m * 60), lens))])
                {
                    Lead = "A motor whose speed is right at the start and never changes: + ahead of the sky, − behind.",
                },
                new Chart(
                    "Error of a constant speed",
                    steady
                    ? "The error is zero throughout."
                    : $"The error grows slowly at first and reaches {Number(drift, 1)} arcsec after {minutes:0} "
                        + "minutes.",
                    new Axis("minutes since the start"),
                    new Axis("arcsec (above 0: ahead of the sky)") { MinSpan = 2 * (lens?.ArcsecPerPixel ?? 1) })
                {
                    Series = [new Series("constant speed", r.CurveMinutes, r.CurveUncorrectedArcsec)],
                    Bands = lens == null
                    ? []
                    : [new Band($"one pixel at {lens.FocalMm:0.#} mm, {Number(lens.ArcsecPerPixel, 1)} arcsec",
                        -lens.ArcsecPerPixel / 2, lens.ArcsecPerPixel / 2)],
                },
                new Notes(
                    "How this was measured",
                    $"The controller's integer arithmetic was run at every second of the travel and compared with "
                    + $"the closed form of this hinge: at worst {Number(r.Accuracy.WorstCounts, 5)} "
                    + $"{r.Rig.Motor.CountName} = "
                    + $"{Number(r.Accuracy.WorstArcsec, 5)} arcsec. The compiler proves that it stays below "
                    + $"{Number(r.Accuracy.BoundCounts, 5)} {r.Rig.Motor.CountName} everywhere.",
                    "Speeds and errors come from the closed form and the lengths in the rig file. They are as good "
                    + "as those lengths: an arm that is 1 % longer than written makes the drive about 1 % slow."),
                HtmlFile.RigCautions,
            ],
        };

        string[] Row(string name, Func<double, double> value, int decimals) =>
            [name, .. at.Select(t => Number(value(t), decimals))];
    }

    private static string HingeText(HingeGeometry hinge) => hinge switch
    {
        FixedRodHinge f =>
            $"rod fixed square to its board at {Number(f.RadiusMm, 1)} mm, riding surface offset "
            + $"{Number(f.SurfaceOffsetMm, 1)} mm, tip radius "
            + $"{Number(f.TipRadiusMm, 1)} mm",
        SwivelledRodHinge s =>
            $"rod free to turn at both ends, arms {Number(s.NutArmMm, 1)} and "
            + $"{Number(s.AnchorArmMm, 1)} mm, "
            + (s.BendRadiusMm > 0 ? $"bent to a radius of {Number(s.BendRadiusMm, 1)} mm" : "straight"),
        DoubleArmHinge d =>
            $"double arm, the {(d.IsTipOnCameraArm ? "driving" : "camera's")} arm slides on the tip of the "
            + $"{(d.IsTipOnCameraArm ? "camera's" : "driving")} arm, {Number(d.ContactArmMm, 1)} mm from its hinge; "
            + $"the driving hinge at {Number(d.HingeDistanceMm, 1)} mm from the camera's; driving arm: "
            + HingeText(d.Drive),
        _ => hinge.GetType().Name,
    };

    private static string[] ErrorRow(int minute, double arcsec, LensScale? lens) =>
        lens == null
        ? [$"{minute}", Number(arcsec, 2)]
        : [$"{minute}", Number(arcsec, 2), Number(arcsec / lens.ArcsecPerPixel, 2)];

    private static string Signed(string number) => number.StartsWith('-') ? "−" + number[1..] : "+" + number;
}
