// The answer from two frames: one sentence on the rate, one on which way to turn the axis.

using System.Text.Json;
using Hourhinge.App.Common;
using Hourhinge.Calibration.Stars;
using Hourhinge.Frames.Matching;
using Hourhinge.Numerics;
using static Hourhinge.App.Common.ConsoleOutput;

namespace Hourhinge.App.Calibrate;

/// <summary>Text and JSON of the quick answer.</summary>
internal sealed class QuickPage(string rig, QuickStars answer, IReadOnlyList<FrameNote> notes,
    IReadOnlyList<string> remarks)
{
    public QuickStars Answer => answer;

    public void Print(Theme theme)
    {
        theme.Assessment(answer.Drive.Sentence);
        theme.Line(AxisSentence());
        foreach (string line in remarks.Concat(FrameRemarkLines.Of(notes)))
        {
            theme.Line(line);
        }
    }

    public void Write(Utf8JsonWriter w)
    {
        void Put(string name, Estimate e, string unit) => w.Estimate(name, e, unit, 4);

        w.WriteString("rig", rig);
        w.WriteString("method", "stars --quick");
        w.Number("span_s", answer.SpanSec, 1);
        Put("rate_error", answer.Drive.RatePercent, "percent");
        Put("effective_rate_error", answer.Drive.EffectiveRatePercent, "percent");
        Put("axis_high", answer.Axis.HighArcmin, "arcmin");
        Put("axis_west", answer.Axis.WestArcmin, "arcmin");
        w.WriteString("advice", $"{answer.Drive.Sentence} {AxisSentence()}");
        w.Texts("remarks", remarks);
    }

    private string AxisSentence()
    {
        Estimate high = answer.Axis.HighArcmin;
        Estimate west = answer.Axis.TurnWestArcmin;
        double off = Math.Sqrt(Math.Pow(high.Value, 2) + Math.Pow(answer.Axis.WestArcmin.Value, 2));
        string Degrees(Estimate e) => $"{Number(Math.Abs(e.Value) / 60, 2)}° (± {Number(e.Half95 / 60, 2)})";
        return Math.Abs(high.Value) < high.Half95 && Math.Abs(west.Value) < west.Half95
            ? $"The axis is on the pole within {Number(Math.Max(high.Half95, west.Half95) / 60, 2)}°."
            : $"The axis is about {Number(off / 60, 1)}° off: {(high.Value > 0 ? "lower" : "raise")} it "
                + $"{Degrees(high)}, turn it {Degrees(west)} to the {(west.Value > 0 ? "east" : "west")}.";
    }
}
