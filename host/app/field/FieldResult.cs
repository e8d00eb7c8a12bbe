// What was asked and what came of it, for one frame.

using Hourhinge.Frames.Reading;
using Hourhinge.Numerics;
using Hourhinge.Recognition;
using Hourhinge.Rig;
using Hourhinge.Sky.Bodies;
using Hourhinge.Sky.Observing;
using Hourhinge.Sky.Places;
using Hourhinge.Sky.Time;

namespace Hourhinge.App.Field;

/// <summary>What is known beside the files.</summary>
internal sealed record FieldRequest(
    FrameOverrides Overrides, CameraData? Camera, double? LensMm, double? PixelUm, Site? Site);

/// <summary>The lens's name and the pixel of a frame, each null where nobody says it.</summary>
/// <param name="LensMm">Focal length by name.</param>
/// <param name="PixelUm">Pixel of the frame as it is in the file.</param>
/// <param name="IsPixelFromFile">True where only the file's metadata name the pixel: programs that reduce a frame leave
/// them as they were.</param>
internal readonly record struct FieldScale(double? LensMm, double? PixelUm, bool IsPixelFromFile)
{
    /// <summary>A pixel by the metadata is believed where it makes the lens's name within this many per cent.</summary>
    public const double BelievedPercent = 15;

    /// <summary>Focal length in pixels that both make.</summary>
    public double? FocalLengthPx => LensMm * 1000 / PixelUm;

    /// <summary>Options first, then the file, then the rig. A frame that was reduced has larger pixels than the
    /// camera.</summary>
    public static FieldScale Of(FieldRequest request, FrameInfo info, int width, int height)
    {
        double? pixel = request.PixelUm;
        if (pixel == null && request.Camera is { } camera)
        {
            int cameraLong = Math.Max(camera.WidthPx, camera.HeightPx);
            int cameraShort = Math.Min(camera.WidthPx, camera.HeightPx);
            int frameLong = Math.Max(width, height), frameShort = Math.Min(width, height);
            double reduced = (double)cameraLong / frameLong;
            // Another shape was cropped: its scale is not known.
            pixel = Math.Abs((reduced * frameShort / cameraShort) - 1) < 0.03 ? camera.PixelUm * reduced : null;
        }

        return new FieldScale(
            request.LensMm ?? info.FocalLengthMm ?? request.Camera?.LensesMm[0], pixel ?? info.PixelSizeMicron,
            pixel == null && info.PixelSizeMicron != null);
    }
}

/// <summary>One frame.</summary>
/// <param name="Name">File name.</param>
/// <param name="Info">What the file says; without time where its zone is not known.</param>
/// <param name="IsZoneUnknown">True where the file's clock is not related to UTC by anything.</param>
/// <param name="Width">Columns.</param>
/// <param name="Height">Rows.</param>
/// <param name="Sources">Star-like sources.</param>
/// <param name="Scale">Lens's name and pixel.</param>
/// <param name="Site">Where it was taken; null for unknown.</param>
/// <param name="Field">The field; null where it is not recognised.</param>
/// <param name="Contents">What is in it.</param>
/// <param name="Picture">JPEG with marks.</param>
internal sealed record FieldResult(string Name, FrameInfo Info, bool IsZoneUnknown, int Width, int Height, int Sources,
    FieldScale Scale,
    Site? Site, RecognizedField? Field, FieldContents? Contents, byte[]? Picture)
{
    /// <summary>Arcseconds a pixel at the frame's centre; NaN without a field.</summary>
    public double ScaleArcsec => Field is { } f ? new Angle(1 / f.Projection.FocalLengthPx).Arcseconds : double.NaN;

    /// <summary>True focal length; NaN where the pixel is not known or not believed.</summary>
    public double TrueFocalMm => Field is { } f && Scale.PixelUm is { } um && !IsPixelDoubtful
        ? f.Projection.FocalLengthPx * um / 1000 : double.NaN;

    /// <summary>Whether the file's pixel contradicts the lens's name, or nothing confirms it.</summary>
    public bool IsPixelDoubtful => Scale.IsPixelFromFile && Field is { } f
        && !(Math.Abs(((f.Projection.FocalLengthPx / Scale.FocalLengthPx) ?? 0) - 1)
            <= FieldScale.BelievedPercent / 100);

    /// <summary>True focal length against the lens's name, per cent; NaN where either is not known.</summary>
    public double AgainstNamePercent => Scale.LensMm is { } mm ? 100 * ((TrueFocalMm / mm) - 1) : double.NaN;

    /// <summary>Whether the stars lie farther from their places than a lens leaves them, or the corners farther than
    /// one for a camera draws them: a frame that was cropped far from its centre, stretched or stitched.</summary>
    public bool IsModelDoubtful => Field is { } f && (f.RmsPx > 0.8 || Math.Abs(CornerDistortionPercent) > 15);

    /// <summary>How far the lens shifts a corner outwards, per cent of its distance.</summary>
    public double CornerDistortionPercent
    {
        get
        {
            if (Field is not { } f)
            {
                return double.NaN;
            }

            double r = f.Projection.Lens.Undistort(f.Projection.CornerRadius);
            return 100 * ((f.Projection.CornerRadius / r) - 1);
        }
    }

    /// <summary>Angle across the frame along x and y through its centre.</summary>
    public (Angle Across, Angle Down) Extent
    {
        get
        {
            FieldProjection p = Field!.Projection;
            return (Between(new FramePoint(-0.5, p.CentreY), new FramePoint(p.Width - 0.5, p.CentreY)),
                Between(new FramePoint(p.CentreX, -0.5), new FramePoint(p.CentreX, p.Height - 0.5)));
        }
    }

    /// <summary>Altitude as seen (with refraction) and azimuth of a direction at mid-exposure; null where site or time
    /// are not known.</summary>
    public Horizontal? SeenFrom(Equatorial j2000)
    {
        if (Site is not { } site || Info.MidUtc is not { } utc)
        {
            return null;
        }

        Horizontal place = ApparentPlace.AltAz(new CataloguePlace(j2000),
            Instant.FromUtc(new DateTimeOffset(utc, TimeSpan.Zero)), site);
        return place.Altitude.Degrees > -1 ? Refraction.Apply(place, Air.AtHeight(site.HeightM)) : place;
    }

    /// <summary>Lowest and highest corner as seen; null as <see cref="SeenFrom"/>, or where a corner lies outside the
    /// lens's model.</summary>
    public (Angle Lowest, Angle Highest)? CornerAltitudes
    {
        get
        {
            FieldProjection p = Field!.Projection;
            Horizontal?[] corners = [.. new FramePoint[] { new(0, 0), new(p.Width, 0), new(0, p.Height),
                new(p.Width, p.Height) }.Select(c => Field.ToCatalogue(c) is { } d
                    ? SeenFrom(Equatorial.FromVector(d)) : null)];
            return corners.Any(c => c is null) ? null
                : (new Angle(corners.Min(c => c!.Value.Altitude.Radians)),
                    new Angle(corners.Max(c => c!.Value.Altitude.Radians)));
        }
    }

    private Angle Between(FramePoint a, FramePoint b)
    {
        FieldProjection p = Field!.Projection;
        return p.ToDirection(a) is { } u && p.ToDirection(b) is { } v
            ? Equatorial.FromVector(u).SeparationFrom(Equatorial.FromVector(v)) : new Angle(double.NaN);
    }
}
