// The answer for frames in which the field stands still against the ground: a stopped drive.

using System.Text.Json;
using Hourhinge.App.Common;
using Hourhinge.Calibration.Orientation;
using Hourhinge.Frames.Matching;
using Hourhinge.Numerics;
using Hourhinge.Recognition;
using Hourhinge.Sky.Places;
using static Hourhinge.App.Common.ConsoleOutput;

namespace Hourhinge.App.Calibrate;

/// <summary>Text and JSON of a stopped drive.</summary>
internal sealed class StandingPage(
    string rig, StandingCamera standing, RecognisedFrame recognised, Estimate focalLengthPx,
    IReadOnlyList<FrameNote> notes)
{
    /// <summary>Why nothing can be calibrated from it.</summary>
    public string Reason =>
        $"the field stands still against the ground: the drive is stopped, "
        + $"{Number(standing.DriveRatePercent.Value, 1)} % "
        + $"(± {Number(standing.DriveRatePercent.Half95, 1)}). Start it and take frames again.";

    public void Print(Theme theme)
    {
        FieldProjection p = recognised.Field.Projection;
        Equatorial centre = recognised.Field.Centre;
        theme.Assessment(
            $"The drive is stopped, {Number(standing.DriveRatePercent.Value, 1)} % "
            + $"(± {Number(standing.DriveRatePercent.Half95, 1)}): the field stands still against the ground.");
        theme.Line(
            $"The sky turned at {Number(standing.SkyRateArcsecPerSec.Value, 3)} arcsec/s "
            + $"(± {Number(standing.SkyRateArcsecPerSec.Half95, 3)}) over {standing.Frames} frames in "
            + $"{Number(standing.SpanSec, 0)} s; the Earth makes {Number(ApparentDrift.ArcsecPerSec, 3)}.");
        theme.Line(
            $"The lens: {Number(p.FocalLengthPx, 1)} (± {Number(focalLengthPx.Half95, 1)}) "
            + "pixels, "
            + $"k1 {Number(p.Lens.K1, 3)}, k2 {Number(p.Lens.K2, 3)}.");
        theme.Line(
            $"The camera looked at right ascension {Number(centre.RightAscension.Degrees, 2)}°, declination "
            + $"{Number(centre.Declination.Degrees, 2)}° (J2000) in {recognised.Frame.Info.Name}, by "
            + $"{recognised.Field.Matches.Count} catalogue stars.");
        foreach (string line in FrameRemarkLines.Of(notes))
        {
            theme.Line(line);
        }
    }

    public void Write(Utf8JsonWriter w)
    {
        void Put(string name, Estimate e, string unit) => w.Estimate(name, e, unit, 6);

        FieldProjection p = recognised.Field.Projection;
        Equatorial centre = recognised.Field.Centre;
        w.WriteString("rig", rig);
        w.WriteString("method", "stars, drive stopped");
        w.Number("span_s", standing.SpanSec, 1);
        w.WriteNumber("frames", standing.Frames);
        Put("rate_error", standing.DriveRatePercent, "percent");
        Put("sky_rate", standing.SkyRateArcsecPerSec, "arcsec_per_s");
        Put("focal_length", focalLengthPx, "px");
        w.Number("k1", p.Lens.K1, 4);
        w.Number("k2", p.Lens.K2, 4);
        w.Number("centre_ra_deg", centre.RightAscension.Degrees, 4);
        w.Number("centre_dec_deg", centre.Declination.Degrees, 4);
        w.Texts("frame_names", standing.Readings.Select(r => r.Name));
        w.Numbers("frame_minutes", standing.Readings.Select(r => r.TimeSec / 60), 4);
        w.Numbers("sky_turn_arcsec", standing.Readings.Select(r => r.TurnArcsec), 2);
        w.Numbers("residual_turn_arcsec", standing.Readings.Select(r => r.ResidualArcsec), 2);
        w.WriteString("advice", Reason);
        w.Texts("notes", notes.Select(note => $"{note.Name}: {note.Reason}"));
    }
}
