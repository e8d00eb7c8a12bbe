// The Exif that a camera would write for a frame (Exif 2.32, CIPA DC-008: tags 0x829A, 0x9003, 0x9011, 0x9291, ...).

using System.Globalization;
using Hourhinge.Starfield.Render;
using SixLabors.ImageSharp;
using SixLabors.ImageSharp.Metadata.Profiles.Exif;

namespace Hourhinge.Starfield.Files;

/// <summary>The start of a frame in Exif's own words; no fraction where the clock gives whole seconds.</summary>
internal readonly record struct ExifTime(string Stamp, string Zone, string? SubSecond)
{
    public static ExifTime Of(RenderedFrame frame, CameraClock clock)
    {
        DateTime local = clock.Stamp(frame.StartUtc) + clock.Zone;
        string sign = clock.Zone < TimeSpan.Zero ? "-" : "+";
        return new ExifTime(
            local.ToString("yyyy:MM:dd HH:mm:ss", CultureInfo.InvariantCulture),
            sign + clock.Zone.ToString(@"hh\:mm", CultureInfo.InvariantCulture),
            clock.WholeSeconds ? null : local.ToString("fff", CultureInfo.InvariantCulture));
    }
}

internal static class ExifTags
{
    public static ExifProfile For(RenderedFrame frame, CameraClock clock)
    {
        ExifTime time = ExifTime.Of(frame, clock);
        var exif = new ExifProfile();
        exif.SetValue(ExifTag.Make, "synthetic");
        exif.SetValue(ExifTag.Model, "rendered, not photographed");
        exif.SetValue(ExifTag.DateTime, time.Stamp);
        exif.SetValue(ExifTag.DateTimeOriginal, time.Stamp);
        exif.SetValue(ExifTag.OffsetTimeOriginal, time.Zone);
        if (time.SubSecond is { } subSecond)
        {
            exif.SetValue(ExifTag.SubsecTimeOriginal, subSecond);
        }

        exif.SetValue(ExifTag.ExposureTime, Fraction(frame.ExposureSeconds, 10000));
        exif.SetValue(ExifTag.FNumber, Fraction(frame.Lens.FNumber, 10));
        exif.SetValue(ExifTag.FocalLength, Fraction(frame.Lens.StatedFocalLengthMm, 100));
        return exif;
    }

    private static Rational Fraction(double value, int denominator) =>
        new((uint)Math.Round(value * denominator), (uint)denominator);
}
