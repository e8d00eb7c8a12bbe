// The page of `hourhinge frames DIR --html FILE`: which frames to stack, and why not the others.

using Hourhinge.Frames.Grading;
using Hourhinge.Report;
using Hourhinge.Report.Charts;

namespace Hourhinge.App.Frames;

internal static class FramesHtml
{
    public static HtmlPage Page(FramesPage page, byte[]? contact, string mediaType, bool night)
    {
        int n = page.Frames.Count;
        GradedFrame[] others = [.. page.Frames.Where(f => f.Grade != FrameGrade.Keep)];
        (double Number, GradedFrame Frame)[] measured = [.. page.Frames.Select((f, i) => (i + 1.0, f))
            .Where(f => f.f.Measures.Error.Length == 0 && f.f.Measures.Stars > 0)];
        double keptHours =
            page.Frames.Where(f => f.Grade == FrameGrade.Keep).Sum(f => f.Measures.ExposureSeconds ?? 0) / 3600;
        var sections = new List<Section>
        {
            new Facts(
                "The frames",
                ("Keep", $"{page.Kept}"),
                ("Look at", $"{page.Count(FrameGrade.Doubt)}"),
                ("Drop", $"{page.Count(FrameGrade.Drop)}"),
                ("Exposure of those kept", $"{keptHours:0.0#} h")),
        };
        if (others.Length > 0)
        {
            sections.Add(new DataTable(
                "Not kept",
                [Column.Text("frame"), Column.Text("grade"), Column.Text("reason")],
                [.. others.Select(g => (string[])[g.Measures.Name, FramesPage.Word(g.Grade), FramesPage.Reason(g)])]));
        }

        if (measured.Length > 0)
        {
            var limits = new GradeLimits();
            sections.Add(new Chart(
                "Trail through the run",
                $"{measured.Count(f => f.Frame.Measures.TrailPx > limits.DropTrailPx)} of {measured.Length} frames "
                + $"are trailed by more than {limits.DropTrailPx:0.0} pixels.",
                new Axis("frame, by name"),
                new Axis("pixels") { From = 0 })
            {
                Series = [.. new[] { FrameGrade.Keep, FrameGrade.Doubt,
                    FrameGrade.Drop }.Select(grade => ByGrade(grade, m => m.TrailPx)).Where(s => s.X.Count > 0)],
                Marks = [new Mark("doubt", limits.DoubtTrailPx), new Mark("drop", limits.DropTrailPx)],
            });
            sections.Add(new Chart(
                "Stars through the run",
                $"From {measured.Min(f => f.Frame.Measures.Stars)} to {measured.Max(f => f.Frame.Measures.Stars)} "
                + "stars a frame; a dip is cloud.",
                new Axis("frame, by name"),
                new Axis("stars") { From = 0 })
            {
                Series = [.. new[] { FrameGrade.Keep, FrameGrade.Doubt,
                    FrameGrade.Drop }.Select(grade => ByGrade(grade, m => m.Stars)).Where(s => s.X.Count > 0)],
            });
        }

        if (contact != null)
        {
            sections.Add(
                new Photo("Contact picture",
                    $"{n} frames, each entire and beside it its centre at full size, as negatives: stars dark on "
                    + "light. A solid border: keep; a dashed one: doubt; crossed out: drop.", mediaType,
                    contact)
                { IsNegative = true });
        }

        sections.Add(new DataTable(
            "All frames",
            [Column.Text("frame"), Column.Number("stars"), Column.Number("width", "px"), Column.Number("trail", "px"),
                Column.Number(page.KnowsSky ? "trail to sky" : "trail's direction", "°"), Column.Number("background"),
                Column.Text("grade")],
            [.. page.Frames.Select(g => (string[])[g.Measures.Name, .. page.Cells(g), FramesPage.Word(g.Grade)])]));
        if (page.Remarks.Count > 0)
        {
            sections.Add(new Notes("The run as a whole", [.. page.Remarks]));
        }

        sections.Add(new Notes(
            "How this was measured",
            "Width is the median full width at half maximum of the stars. Trail is the elongation that all stars of "
            + "a frame share, as the length of a straight trail that would make it; what a lens does to stars points "
            + "in and out and cancels. Its direction counts from right towards down on the picture, or from the "
            + "sky's own motion where that was given: near 0° is the drive, near 90° the axis, between them wind or "
            + "both.",
            "Background is in the file's own numbers. Each frame is judged against the better frames of the same "
            + "run, so a run that is hazy throughout looks even."));
        return new HtmlPage($"{page.Folder}: frames",
            new AssessmentBanner(page.Kept > 0 ? AssessmentKind.Good : AssessmentKind.NotGood,
                (page.Kept > 0 ? "Good: " : "Not good: ") + page.Assessment[..1].ToLowerInvariant()
                + page.Assessment[1..]))
        {
            Night = night,
            Source = $"Made by: hourhinge frames {page.Folder}.",
            Sections = sections,
        };

        Series ByGrade(FrameGrade grade, Func<FrameMeasures, double> value)
        {
            (double Number, GradedFrame Frame)[] own = [.. measured.Where(f => f.Frame.Grade == grade)];
            return new Series(FramesPage.Word(grade), [.. own.Select(f => f.Number)],
                [.. own.Select(f => value(f.Frame.Measures))])
            { IsPoints = true };
        }
    }
}
