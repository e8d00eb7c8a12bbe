// Graded frames as tables, as JSON and as a list file.

using System.Text;
using System.Text.Json;
using Hourhinge.App.Common;
using Hourhinge.Frames.Grading;
using static Hourhinge.App.Common.ConsoleOutput;

namespace Hourhinge.App.Frames;

/// <summary>A folder's frames and what to do with each.</summary>
internal sealed class FramesPage(string folder, GradedFrames run, double? skyAngleRad,
    IReadOnlyList<string> leftOut, SkyOnFrames? recognised = null)
{
    private const int LongestName = 24;

    public string Folder { get; } = folder;

    public IReadOnlyList<GradedFrame> Frames { get; } = run.Frames;

    /// <summary>Sentences on the run as a whole.</summary>
    public IReadOnlyList<string> Remarks { get; } =
        [.. run.Remarks.Concat(Sources(run)).Concat(leftOut).Select(r => r[..1].ToUpperInvariant() + r[1..])];

    // What raw files were read by, once for all that are alike.
    private static IEnumerable<string> Sources(GradedFrames run) =>
        run.Frames.Where(g => g.Measures.Source.Length > 0).GroupBy(g => g.Measures.Source)
            .Select(g => $"{g.Count()} raw files: {g.Key}.");

    public bool KnowsSky => skyAngleRad != null;

    public int Kept => Count(FrameGrade.Keep);

    public int Count(FrameGrade grade) => Frames.Count(f => f.Grade == grade);

    /// <summary>The main result in one sentence.</summary>
    public string Assessment => Kept > 0
        ? $"Keep {Kept} of {Frames.Count} frames; look at {Count(FrameGrade.Doubt)}; drop {Count(FrameGrade.Drop)}."
        : $"Keep none of {Frames.Count} frames; look at {Count(FrameGrade.Doubt)}; drop {Count(FrameGrade.Drop)}.";

    /// <summary>A trail's direction, degrees: against the sky's motion (-90 to 90) where that is known, else on the
    /// picture.</summary>
    public double TrailDirectionDeg(FrameMeasures f) =>
        Math.IEEERemainder(f.TrailAngleRad - (skyAngleRad ?? 0), Math.PI) * 180 / Math.PI;

    /// <summary>Head of the column of <see cref="TrailDirectionDeg"/>.</summary>
    public string DirectionHead => KnowsSky ? "to sky, °" : "at, °";

    public void Print(Theme theme)
    {
        Spectre.Console.Table table = theme.Table($"{Folder}: {Frames.Count} frames", "frame", "stars", "width",
            "trail, px", DirectionHead, "sky", "grade");
        Dictionary<string, string> shortened = ShortNames();
        foreach (GradedFrame g in Frames)
        {
            string[] cells = [shortened[g.Measures.Name], .. Cells(g), Word(g.Grade)];
            theme.Row(table, cells);
        }

        Theme.Show(table);
        GradedFrame[] others = [.. Frames.Where(f => f.Grade != FrameGrade.Keep)];
        if (others.Length > 0)
        {
            Spectre.Console.Table why = theme.Table("Not kept", "frame", "grade", "reason");
            why.Columns[2].Alignment = Spectre.Console.Justify.Left;
            foreach (GradedFrame g in others)
            {
                theme.Row(why, shortened[g.Measures.Name], Word(g.Grade), Reason(g));
            }

            Theme.Show(why);
        }

        foreach (string remark in Remarks)
        {
            theme.Line(remark);
        }

        theme.Assessment(Assessment);
    }

    /// <summary>Stars, width in px, trail in px, its direction in degrees, background; dashes where nothing was
    /// measured.</summary>
    public string[] Cells(GradedFrame g)
    {
        FrameMeasures m = g.Measures;
        if (m.Error.Length > 0)
        {
            return ["–", "–", "–", "–", "–"];
        }

        bool stars = m.Stars > 0;
        return
        [
            $"{m.Stars}",
            stars ? Number(m.FwhmPx, 1) : "–",
            stars ? Number(m.TrailPx, 1) : "–",
            // Without a trail there is no direction.
            m.TrailPx >= 0.5 ? Number(TrailDirectionDeg(m), 0) : "–",
            Number(m.Background, 0),
        ];
    }

    /// <summary>Grade, tab, name, tab, reason; one frame a line.</summary>
    public string List()
    {
        var text = new StringBuilder();
        foreach (GradedFrame g in Frames)
        {
            text.Append(Word(g.Grade)).Append('\t').Append(VisibleText.Cell(g.Measures.Name, "./")).Append('\t')
                .Append(VisibleText.Cell(Reason(g), "'")).Append('\n');
        }

        return text.ToString();
    }

    public void Write(Utf8JsonWriter w)
    {
        w.WriteString("folder", Folder);
        w.WriteNumber("keep", Kept);
        w.WriteNumber("doubt", Count(FrameGrade.Doubt));
        w.WriteNumber("drop", Count(FrameGrade.Drop));
        w.Number("common_elongation_px", run.CommonElongationPx, 2);
        w.WriteString("recognised_frame", recognised?.Name);
        w.Number("scale_arcsec_per_px", recognised?.ArcsecPerPx ?? double.NaN, 4);
        w.Number("sky_angle_deg", (skyAngleRad * 180 / Math.PI) ?? double.NaN, 2);
        w.Number("sky_motion_px_per_s", recognised?.Sky.StoppedPxPerSec ?? double.NaN, 5);
        w.WriteStartArray("remarks");
        foreach (string remark in Remarks)
        {
            w.WriteStringValue(remark);
        }

        w.WriteEndArray();
        w.WriteStartArray("frames");
        foreach (GradedFrame g in Frames)
        {
            FrameMeasures m = g.Measures;
            bool measured = m.Error.Length == 0 && m.Stars > 0;
            w.WriteStartObject();
            w.WriteString("name", m.Name);
            w.WriteString("grade", Word(g.Grade));
            w.WriteString("reason", Reason(g));
            w.WriteString("start_utc",
                m.StartUtc?.ToString("yyyy-MM-ddTHH:mm:ss.fffZ", System.Globalization.CultureInfo.InvariantCulture));
            w.Number("exposure_s", m.ExposureSeconds ?? double.NaN, 4);
            w.WriteNumber("stars", m.Stars);
            w.Number("width_px", measured ? m.FwhmPx : double.NaN, 3);
            w.Number("elongation", measured ? m.Elongation : double.NaN, 3);
            w.Number("trail_px", measured ? m.TrailPx : double.NaN, 3);
            w.Number("trail_angle_deg", measured ? m.TrailAngleRad * 180 / Math.PI : double.NaN, 1);
            w.Number("trail_to_sky_deg", measured && KnowsSky ? TrailDirectionDeg(m) : double.NaN, 1);
            w.Number("background", m.Error.Length == 0 ? m.Background : double.NaN, 2);
            w.Number("noise", m.Error.Length == 0 ? m.Noise : double.NaN, 3);
            w.Number("longest_streak_px", m.LongestStreakPx, 1);
            w.Number("transparency", g.Transparency ?? double.NaN, 3);
            w.WriteString("pixels_from", m.Source);
            w.WriteEndObject();
        }

        w.WriteEndArray();
    }

    /// <summary>keep, doubt or drop.</summary>
    public static string Word(FrameGrade grade) => grade switch
    {
        FrameGrade.Keep => "keep",
        FrameGrade.Doubt => "doubt",
        _ => "drop",
    };

    /// <summary>The reason without grade and name, which have columns of their own.</summary>
    public static string Reason(GradedFrame g)
    {
        string reason = g.Reason[(g.Reason.IndexOf(": ", StringComparison.Ordinal) + 2)..];
        return reason.StartsWith(g.Measures.Name + ": ", StringComparison.Ordinal)
            ? reason[(g.Measures.Name.Length + 2)..] : reason;
    }

    // A long name loses its middle: the end of a camera's file name identifies the frame. Where two names would look
    // the same, another part is cut, and where no cut keeps all apart, the place in the list leads.
    private Dictionary<string, string> ShortNames()
    {
        string[] names = [.. Frames.Select(g => g.Measures.Name).Distinct(StringComparer.Ordinal)];
        foreach (int head in new[] { 9, 5, 1, 13, 17, 21 })
        {
            Dictionary<string, string> cut = names.ToDictionary(n => n, n => n.Length <= LongestName
                ? n
                : $"{n[..head]}…{n[^(LongestName - 1 - head)..]}", StringComparer.Ordinal);
            if (cut.Values.Distinct(StringComparer.Ordinal).Count() == names.Length)
            {
                return cut;
            }
        }

        return names.Select((n, i) => (n, i)).ToDictionary(n => n.n, n =>
        {
            string place = $"{n.i + 1}:";
            return n.n.Length + place.Length <= LongestName
                ? place + n.n
                : $"{place}…{n.n[^(LongestName - 1 - place.Length)..]}";
        }, StringComparer.Ordinal);
    }
}
