// Recognised frames as tables and as JSON.

using System.Globalization;
using System.Text.Json;
using Hourhinge.App.Common;
using Hourhinge.Calibration.Stars;
using Hourhinge.Numerics;
using Hourhinge.Recognition;
using Hourhinge.Sky.Places;
using Hourhinge.Sky.Stars;
using static Hourhinge.App.Common.ConsoleOutput;

namespace Hourhinge.App.Field;

/// <summary>The frames and what was recognised.</summary>
internal sealed class FieldPage(IReadOnlyList<FieldResult> results)
{
    private const int ShownObjects = 14;

    // Fewer missing stars than this happen in every frame: doubles, colours, noise.
    private const double CloudShare = 0.25;

    public IReadOnlyList<FieldResult> Results { get; } = results;

    public int Recognised => Results.Count(r => r.Field != null);

    /// <summary>The main result in one sentence.</summary>
    public string Assessment => Found + (Results.Any(r => r.IsModelDoubtful)
        ? " Centre, scale and lens are in doubt where the stars are far from their places." : "");

    private string Found => Recognised == Results.Count
        ? Results.Count == 1 ? "The field is recognised." : $"All {Results.Count} fields are recognised."
        : Recognised == 0 && Results.Count == 1 ? "The field is not recognised."
        : $"{Recognised} of {Results.Count} fields are recognised.";

    public void Print(Theme theme)
    {
        foreach (FieldResult r in Results)
        {
            Spectre.Console.Table table = theme.Facts(r.Name);
            foreach ((string name, string value) in Facts(r))
            {
                theme.Row(table, name, value);
            }

            Theme.Show(table);
            if (r.Contents is { Objects.Count: > 0 } contents)
            {
                Spectre.Console.Table objects = theme.Table("In the frame", "object", "magnitude", "column", "row");
                foreach (FieldObject o in Chosen(contents))
                {
                    theme.Row(objects, $"{o.Name}, {o.Kind}", o.Magnitude is { } m ? Number(m, 1) : "–",
                        Number(o.Place.X, 0), Number(o.Place.Y, 0));
                }

                Theme.Show(objects);
            }
        }

        theme.Assessment(Assessment);
    }

    /// <summary>Names and values of one frame.</summary>
    public static IEnumerable<(string Name, string Value)> Facts(FieldResult r)
    {
        if (r.Field is not { } field)
        {
            yield return ("Field", "not recognised");
            yield return ("Sources", $"{r.Sources}; "
                + (r.Sources < 30 ? "too few: a longer exposure shows more stars"
                    : "they fit no part of the sky: clouds, a landscape, a fish-eye lens, or a few stars only"));
            yield break;
        }

        FieldProjection p = field.Projection;
        Equatorial centre = field.Centre;
        yield return ("Centre, J2000", $"{Hours(centre.RightAscension)} {Degrees(centre.Declination)} "
            + $"({centre.RightAscension.Degrees:0.000}°, {Signed(centre.Declination.Degrees, 3)}°) "
            + $"± {field.CentreSigma.Arcseconds:0}\"");
        (Angle across, Angle down) = r.Extent;
        yield return ("Scale",
            $"{r.ScaleArcsec:0.00}\" a pixel; {Number(across.Degrees, 1)}° by {Number(down.Degrees, 1)}°; focal length "
            + $"{p.FocalLengthPx:0.0} ± {field.FocalLengthSigmaPx:0.0} pixels"
            + (field.SeenDirection == null ? ", refraction left in (--site and the time take it off)" : ""));
        yield return ("Lens", LensText(r));
        yield return ("Distortion", $"{Signed(r.CornerDistortionPercent, 1)} % at the corners (k1 {p.Lens.K1:0.0000}, "
            + $"k2 {p.Lens.K2:0.0000}); the lens's axis {AxisText(field)}");
        yield return ("Rotation", $"up in the frame is {p.Roll.Degrees:0.00}° from north through east"
            + (p.Mirrored ? "; the frame is a mirror image" : "")
            + (r.Info.Orientation == 1
                ? ""
                : "; up, columns and rows are those of the picture as stored, which viewers "
                + $"turn (Exif orientation {r.Info.Orientation})"));
        yield return ("Height", HeightText(r));
        FieldContents contents = r.Contents!;
        yield return ("Stars", $"{field.Matches.Count} of {r.Sources} sources are catalogue stars, "
            + $"{field.RmsPx:0.00} pixels from their places"
            + (r.IsModelDoubtful
                ? ": a lens leaves less. A frame that was cropped, stretched or stitched? Centre, scale "
                + "and lens may be farther off than is said here" : ""));
        yield return ("Missing", MissingText(contents));
        yield return ("By chance", $"odds 1 to 10^{field.LogBayesFactor / Math.Log(10):0}");
    }

    /// <summary>The objects shown: half of the room for stars.</summary>
    public static IEnumerable<FieldObject> Chosen(FieldContents contents)
    {
        FieldObject[] deep = [.. contents.Objects.Where(o => o.Kind != "star").Take(ShownObjects)];
        FieldObject[] stars = [.. contents.Objects.Where(o => o.Kind == "star")
            .Take(ShownObjects - Math.Min(deep.Length, ShownObjects / 2))];
        return stars.Concat(deep.Take(ShownObjects - stars.Length));
    }

    public void Write(Utf8JsonWriter json)
    {
        json.WriteNumber("recognised", Recognised);
        json.WriteStartArray("frames");
        foreach (FieldResult r in Results)
        {
            json.WriteStartObject();
            json.WriteString("name", r.Name);
            json.WriteBoolean("recognised", r.Field != null);
            json.WriteNumber("width_px", r.Width);
            json.WriteNumber("height_px", r.Height);
            json.WriteNumber("sources", r.Sources);
            Utc(json, "mid_utc", r.Info.MidUtc);
            json.Number("lens_name_mm", r.Scale.LensMm ?? double.NaN, 3);
            json.Number("pixel_um", r.Scale.PixelUm ?? double.NaN, 4);
            if (r.Field is { } field)
            {
                WriteField(json, r, field);
            }

            json.WriteEndObject();
        }

        json.WriteEndArray();
    }

    private static void WriteField(Utf8JsonWriter json, FieldResult r, RecognizedField field)
    {
        FieldProjection p = field.Projection;
        json.WriteStartObject("field");
        json.Number("centre_ra_deg", field.Centre.RightAscension.Degrees, 5);
        json.Number("centre_dec_deg", field.Centre.Declination.Degrees, 5);
        json.Number("centre_sigma_arcsec", field.CentreSigma.Arcseconds, 2);
        json.Number("focal_length_px", p.FocalLengthPx, 3);
        json.Number("focal_length_sigma_px", field.FocalLengthSigmaPx, 3);
        json.Number("scale_arcsec_per_px", r.ScaleArcsec, 5);
        json.Number("true_focal_length_mm", r.TrueFocalMm, 3);
        json.Number("against_name_percent", r.AgainstNamePercent, 2);
        json.Number("k1", p.Lens.K1, 6);
        json.Number("k1_sigma", field.K1Sigma, 6);
        json.Number("k2", p.Lens.K2, 6);
        json.Number("k2_sigma", field.K2Sigma, 6);
        json.Number("axis_x_px", p.Axis.X, 2);
        json.Number("axis_x_sigma_px", field.AxisXSigmaPx, 2);
        json.Number("axis_y_px", p.Axis.Y, 2);
        json.Number("axis_y_sigma_px", field.AxisYSigmaPx, 2);
        json.WriteBoolean("refraction_removed", field.SeenDirection != null);
        json.Number("corner_distortion_percent", r.CornerDistortionPercent, 3);
        json.Number("roll_deg", p.Roll.Degrees, 4);
        json.Number("roll_sigma_deg", field.RollSigma.Degrees, 4);
        json.WriteBoolean("mirrored", p.Mirrored);
        Horizontal? seen = r.SeenFrom(field.Centre);
        json.Number("altitude_deg", seen?.Altitude.Degrees ?? double.NaN, 3);
        json.Number("azimuth_deg", seen?.Azimuth.Degrees ?? double.NaN, 3);
        json.Number("log10_bayes_factor", field.LogBayesFactor / Math.Log(10), 1);
        json.WriteBoolean("model_doubtful", r.IsModelDoubtful);
        json.WriteNumber("matches", field.Matches.Count);
        json.Number("rms_px", field.RmsPx, 3);
        json.Number("expected_to_magnitude", r.Contents!.LimitMagnitude, 2);
        json.WriteNumber("expected_stars", r.Contents.Expected.Count);
        json.Number("missing_share", r.Contents.MissingShare, 3);
        json.Numbers("missing_share_by_part", r.Contents.MissingByPart, 3);
        json.WriteStartArray("objects");
        foreach (FieldObject o in r.Contents.Objects)
        {
            json.WriteStartObject();
            json.WriteString("name", o.Name);
            json.WriteString("kind", o.Kind);
            json.Number("magnitude", o.Magnitude ?? double.NaN, 2);
            json.Number("x_px", o.Place.X, 1);
            json.Number("y_px", o.Place.Y, 1);
            json.Number("radius_px", o.RadiusPx, 1);
            json.WriteEndObject();
        }

        json.WriteEndArray();
        json.WriteStartArray("stars");
        foreach (StarMatch m in field.Matches)
        {
            json.WriteStartObject();
            CatalogueStar star = StarCatalogue.Stars[m.CatalogueIndex];
            json.WriteNumber("hip", star.Hip);
            json.Number("magnitude", star.Magnitude, 2);
            FramePoint? place = field.ToPixel(star.Direction);
            json.Number("x_px", (place?.X ?? double.NaN) + m.DeltaXPx, 2);
            json.Number("y_px", (place?.Y ?? double.NaN) + m.DeltaYPx, 2);
            json.Number("residual_px", m.ResidualPx, 3);
            json.WriteEndObject();
        }

        json.WriteEndArray();
        json.WriteEndObject();
    }

    private static void Utc(Utf8JsonWriter json, string name, DateTime? utc)
    {
        if (utc is { } time)
        {
            json.WriteString(name, time.ToString("yyyy-MM-ddTHH:mm:ss.fffZ", CultureInfo.InvariantCulture));
        }
        else
        {
            json.WriteNull(name);
        }
    }

    // A narrow field does not show its axis.
    private static string AxisText(RecognizedField field)
    {
        OpticalAxis axis = field.Projection.Axis;
        double sigma = Math.Max(field.AxisXSigmaPx, field.AxisYSigmaPx);
        return Math.Max(Math.Abs(axis.X), Math.Abs(axis.Y)) < 3 * sigma ? "is not told from the frame's centre"
            : $"meets the frame {Number(Math.Abs(axis.X), 0)} pixels {(axis.X < 0 ? "left" : "right")} of and "
                + $"{Number(Math.Abs(axis.Y), 0)} {(axis.Y < 0 ? "above" : "below")} its centre (± {Number(sigma, 1)})";
    }

    private static string LensText(FieldResult r)
    {
        if (r.IsPixelDoubtful)
        {
            return $"the pixel that the file names, {r.Scale.PixelUm:0.00} µm, does not fit the lens's name: "
                + "a reduced or cropped frame; --pixel helps";
        }

        if (double.IsNaN(r.TrueFocalMm))
        {
            return r.Scale.LensMm is { } named
                ? $"named {named:0.#} mm; its true focal length needs --pixel or a --rig with a [camera] of this shape"
                : "its focal length in mm needs --pixel or a --rig with a [camera] of this shape";
        }

        string text = $"{r.TrueFocalMm:0.00} mm with a pixel of {r.Scale.PixelUm:0.00} µm";
        return r.Scale.LensMm is { } mm
            ? $"{text}; {Signed(r.AgainstNamePercent, 1)} % against its name, {mm:0.#} mm"
                + (Math.Abs(r.AgainstNamePercent) > 10 ? ": another lens or pixel than told" : "")
            : text;
    }

    private static string HeightText(FieldResult r)
    {
        if (r.SeenFrom(r.Field!.Centre) is not { } seen)
        {
            return r.Site == null ? "needs --site, or a --rig with a [site]"
                : r.IsZoneUnknown ? "the file does not name the zone of its clock: give --utc-offset"
                : "the file does not say when it was taken";
        }

        if (seen.Altitude.Degrees < 0)
        {
            return $"{Number(-seen.Altitude.Degrees, 1)}° below the horizon at {r.Info.MidUtc:HH:mm:ss} UTC: time, "
                + "zone or "
                + "site are wrong";
        }

        if (FrameTimes.DaylightSun(r.Info.MidUtc!.Value, r.Site!.Value) is { } sun)
        {
            return $"not told: at {r.Info.MidUtc:HH:mm:ss} UTC the sun stood at altitude {sun.Degrees:0}°: time, "
                + "zone or "
                + "site are wrong";
        }

        string corners = r.CornerAltitudes is { } c
            ? $"; corners from {Signed(c.Lowest.Degrees, 1)}° to {Signed(c.Highest.Degrees, 1)}°" : "";
        return $"{Number(seen.Altitude.Degrees, 1)}° above the horizon, azimuth "
            + $"{seen.Azimuth.Degrees:0.0}°{corners}; at "
            + $"{r.Info.MidUtc:HH:mm:ss} UTC";
    }

    private static string MissingText(FieldContents contents)
    {
        int missing = contents.Expected.Count(s => !s.IsFound);
        string text = $"{missing} of {contents.Expected.Count} stars to magnitude {contents.LimitMagnitude:0.0}";
        if (contents.Expected.Count < 15)
        {
            return text + ": too few to judge cloud";
        }

        int[] hidden = [.. Enumerable.Range(0, contents.MissingByPart.Count)
            .Where(i => contents.MissingByPart[i] > 0.6)];
        return hidden.Length == 0 ? text + (contents.MissingShare < CloudShare ? ": clear" : ": thin cloud or haze")
            : $"{text}: cloud, haze or landscape hides {Places(hidden)}";
    }

    private static string Places(int[] parts)
    {
        string[] down = ["top", "upper middle", "lower middle", "bottom"];
        string Across(int part) => (part % FieldContents.PartsAcross) switch
        {
            < 2 => "left",
            < 4 => "centre",
            _ => "right",
        };
        string[] names = [.. parts.Select(i => $"{down[i / FieldContents.PartsAcross]} {Across(i)}").Distinct()];
        return names.Length > 6 ? "much of the frame" : string.Join(", ", names);
    }

    private static string Signed(double value, int decimals) =>
        double.IsNaN(value) ? "–" : (value >= 0 ? "+" : "-") + Number(Math.Abs(value), decimals);

    private static string Hours(Angle a)
    {
        int seconds = (int)Math.Round(a.Wrapped().Hours * 3600) % 86400;
        return $"{seconds / 3600:00}h{seconds / 60 % 60:00}m{seconds % 60:00}s";
    }

    private static string Degrees(Angle a)
    {
        int minutes = (int)Math.Round(Math.Abs(a.Arcminutes));
        return $"{(a.Radians < 0 ? '-' : '+')}{minutes / 60:00}°{minutes % 60:00}'";
    }
}
