// hourhinge field FILE...: where frames look, through which lens, and what is in them. Recognition: host/recognition;
// tables and JSON: FieldPage.cs; the frame with its stars marked: FieldPicture.cs.

using System.CommandLine;
using Hourhinge.App.Common;
using Hourhinge.Calibration.Stars;
using Hourhinge.Frames.Reading;
using Hourhinge.Frames.Stars;
using Hourhinge.Numerics;
using Hourhinge.Recognition;
using Hourhinge.Rig;
using Hourhinge.Sky.Bodies;
using Hourhinge.Sky.Observing;
using Hourhinge.Sky.Places;
using Hourhinge.Sky.Time;
using static Hourhinge.App.Common.ConsoleOutput;

namespace Hourhinge.App.Field;

internal static class FieldCommand
{
    private const int MaxFiles = 500, MaxPictures = 12;

    // Lower fields are not trusted to be where site and time put them.
    private const double MinAltitudeDeg = 5;

    public static Command Create()
    {
        var files = new Argument<FileInfo[]>("FILE")
        {
            Description = "Frames: JPEG, PNG, TIFF or FITS.",
            Arity = new ArgumentArity(1, MaxFiles),
        };
        var rig = new Option<FileInfo?>("--rig") { Description = "Rig file: camera and site.", HelpName = "RIG" };
        Option<double?> lens = Quantity.Optional("--lens", 4, 3000, "mm",
            "Focal length by the lens's name; default is what the file says");
        Option<double?> pixel = Quantity.Optional("--pixel", 0.5, 50, "um",
            "Pixel of the frame as it is in the file; default is the rig's, or what the file says");
        var site = new Option<string?>("--site")
        {
            Description = "LATITUDE,LONGITUDE in degrees, north and east positive; default is the rig's.",
            HelpName = "LAT,LON",
        };
        Option<double?> zone = Quantity.Optional("--utc-offset", -12, 14, "h",
            "Hours that the camera's clock is ahead of UTC, where the file does not say");
        Option<double> offset = Quantity.Option("--clock-offset", -86400, 86400, 0, "s", "Camera's clock minus UTC");
        Option<FileInfo?> html = SharedOptions.Html();
        Option<bool> json = SharedOptions.Json();
        Option<bool> night = SharedOptions.Night();
        var command = new Command("field", "Recognise where frames look: centre, true scale, rotation, objects, cloud.")
        {
            files, rig, lens, pixel, site, zone, offset, html, json, night,
        };
        command.SetAction((parsed, cancel) =>
        {
            FileInfo? report = parsed.GetValue(html);
            HtmlFile.Check(report);
            FileInfo? rigFile = parsed.GetValue(rig);
            LoadedRig? loaded = rigFile == null ? null : LoadedRig.From(rigFile);
            var request = new FieldRequest(
                new FrameOverrides(parsed.GetValue(offset), null,
                    parsed.GetValue(zone) is { } hours ? TimeSpan.FromHours(hours) : null),
                loaded?.Rig.Camera, parsed.GetValue(lens), parsed.GetValue(pixel),
                Place(parsed.GetValue(site), loaded?.Rig.Site));
            FileInfo[] named = parsed.GetRequiredValue(files);
            // A file that is no frame is told before the others have taken their time.
            foreach (FileInfo file in named)
            {
                if (!FrameReader.TryReadInfo(file.FullName, request.Overrides, out _, out string refusal))
                {
                    throw new InputException(refusal);
                }
            }

            var results = new List<FieldResult>();
            var refusals = new List<string>();
            int pictures = report == null ? 0 : MaxPictures;
            try
            {
                ProgressBar.Run("recognising", named.Length, parsed.GetValue(night), show =>
                {
                    foreach (FileInfo file in named)
                    {
                        cancel.ThrowIfCancellationRequested();
                        if (Recognize(file, request, results.Count < pictures, out string refusal) is { } result)
                        {
                            results.Add(result);
                        }
                        else
                        {
                            refusals.Add(refusal);
                        }

                        show(results.Count + refusals.Count);
                    }

                    return 0;
                });
            }
            catch (OperationCanceledException)
            {
                WriteRemark("Stopped.");
                return Task.FromResult(ExitCode.AnswerIsNo);
            }

            // A file cut short shows that only when it is decoded: the others have their answers all the same.
            if (results.Count == 0)
            {
                throw new InputException(string.Join(" ", refusals));
            }

            var page = new FieldPage(results);
            if (parsed.GetValue(json))
            {
                WriteJson(page.Write);
            }
            else
            {
                page.Print(new Theme(parsed.GetValue(night)));
            }

            if (report != null)
            {
                HtmlFile.Write(report, FieldHtml.Page(page, parsed.GetValue(night)));
            }

            if (refusals.Count > 0)
            {
                throw new InputException(string.Join(" ", refusals));
            }

            return Task.FromResult(results.All(r => r.Field != null) ? ExitCode.Done : ExitCode.AnswerIsNo);
        });
        return command;
    }

    private static FieldResult? Recognize(FileInfo file, FieldRequest request, bool draw, out string refusal)
    {
        if (!FrameReader.TryRead(file.FullName, request.Overrides, out Frame? frame, out refusal))
        {
            return null;
        }

        using (frame)
        {
            StarField stars = StarFinder.Find(frame.Image);
            // A trail's middle is where the star stood at mid-exposure, to a fraction of the trail.
            ImageStar[] sources = [.. stars.Stars.Select(s => new ImageStar(s.X, s.Y, s.Flux, s.CentroidSigmaPx)),
                .. stars.Streaks.Where(s => !s.CutByEdge).Select(s =>
                    new ImageStar((s.X1 + s.X2) / 2, (s.Y1 + s.Y2) / 2, s.Flux))];
            FieldScale scale = FieldScale.Of(request, frame.Info, stars.Width, stars.Height);
            RecognizedField? field = scale.FocalLengthPx is { } px
                ? FieldRecognizer.Recognize(sources, stars.Width, stars.Height, new FieldHint { FocalLengthPx = px })
                : null;
            // A wrong name of the lens must not hide the field.
            field ??= FieldRecognizer.Recognize(sources, stars.Width, stars.Height);
            bool isZoneUnknown = IsZoneUnknown(file, request, frame.Info);
            FrameInfo info = isZoneUnknown ? frame.Info with { StartUtc = null } : frame.Info;
            field = field == null ? null : Refracted(field, sources, stars, request.Site, info);
            field = field is { SeenDirection: null } ? field.WithRefractionLeftIn() : field;
            FieldContents? contents = field == null ? null : FieldContents.Of(field);
            byte[]? picture = draw ? FieldPicture.Draw(frame.Image, stars, field, contents) : null;
            return new FieldResult(VisibleName(file), info, isZoneUnknown, stars.Width, stars.Height, sources.Length,
                scale,
                request.Site, field, contents, picture);
        }
    }

    // The same field with refraction taken off, where site and time say that it was up: it changes the scale by some
    // hundredths of a per cent, and bends a field near the horizon.
    private static RecognizedField Refracted(RecognizedField field, ImageStar[] sources, StarField stars, Site? site,
        FrameInfo info)
    {
        if (site is not { } place || info.MidUtc is not { } utc || FrameTimes.DaylightSun(utc, place) != null)
        {
            return field;
        }

        var at = Instant.FromUtc(new DateTimeOffset(utc, TimeSpan.Zero));
        if (ApparentPlace.AltAz(new CataloguePlace(field.Centre), at, place).Altitude.Degrees < MinAltitudeDeg)
        {
            return field;
        }

        return FieldRecognizer.Recognize(sources, stars.Width, stars.Height, new FieldHint
        {
            FocalLengthPx = field.Projection.FocalLengthPx,
            FocalLengthTolerance = 0.02,
            Centre = field.Projection.Centre.ToVector(),
            CentreTolerance = Angle.FromDegrees(1),
            Mirrored = field.Projection.Mirrored,
            SeenDirection = new SeenSky(at, place, Air.AtHeight(place.HeightM)).Seen,
        }) ?? field;
    }

    // A file that names no zone follows the one that it is given; then its clock says nothing of UTC.
    private static bool IsZoneUnknown(FileInfo file, FieldRequest request, FrameInfo info) =>
        request.Overrides.ZoneOffset == null && info.StartUtc != null
        && FrameReader.TryReadInfo(file.FullName,
            request.Overrides with { ZoneOffset = TimeSpan.FromHours(1) }, out FrameInfo? shifted, out _)
        && shifted.StartUtc != info.StartUtc;

    private static string VisibleName(FileInfo file) => VisibleText.Of(file.Name);

    private static Site? Place(string? text, SiteData? data)
    {
        if (text == null)
        {
            return data == null ? null : Site.FromDegrees(data.LatitudeDeg, data.LongitudeDeg, data.HeightM);
        }

        double[]? numbers = SkyTarget.Pair(text);
        return numbers != null && Math.Abs(numbers[0]) <= 90 && Math.Abs(numbers[1]) <= 180
            ? Site.FromDegrees(numbers[0], numbers[1])
            : throw new InputException(
                $"--site {text}: must be LATITUDE,LONGITUDE in degrees, -90 to 90 and -180 to 180, such as 47.2,12.6.");
    }
}
