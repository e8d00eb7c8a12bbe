// When and how a JPEG, PNG or TIFF was taken, from its Exif tags (CIPA DC-008, Exif 2.32) by MetadataExtractor.
// Here: date, sub-second part, zone, exposure, focal length, pixel pitch. Not here: pixels.
using System.Globalization;
using MetadataExtractor;
using MetadataExtractor.Formats.Exif;
using MetaDirectory = MetadataExtractor.Directory;

namespace Hourhinge.Frames.Reading;

internal static class ExifInfo
{
    private const double MmPerInch = 25.4;

    public static FrameInfo Read(Stream stream, string name, FrameOverrides overrides)
    {
        IReadOnlyList<MetaDirectory> all = ImageMetadataReader.ReadMetadata(stream);
        var exif = all.OfType<ExifDirectoryBase>().Where(d => d is not ExifThumbnailDirectory).ToList();
        double? exposure = FrameInfo.CheckedExposure(
            overrides.ExposureSeconds ?? Number(exif, ExifDirectoryBase.TagExposureTime));
        (DateTime? start, double resolution, bool zoneKnown) = Start(exif, overrides);
        return new FrameInfo(name, start, resolution, exposure,
            FrameInfo.Positive(Number(exif, ExifDirectoryBase.TagFocalLength), FrameInfo.LongestMm),
            PixelPitchMicron(exif))
        {
            ZoneKnown = zoneKnown,
            FocalLength35Mm = FrameInfo.Positive(Number(exif, ExifDirectoryBase.Tag35MMFilmEquivFocalLength),
                FrameInfo.LongestMm),
            Orientation = Number(exif, ExifDirectoryBase.TagOrientation) is >= 1 and <= 8 and { } turned
                ? (int)turned : 1,
        };
    }

    // The time of the exposure; where it is missing, that of digitising, which is the same in a camera. Each with its
    // own part of a second and zone. DateTime alone tells when a program changed the file.
    private static readonly (int Time, int Part, int Zone)[] _times =
    [
        (ExifDirectoryBase.TagDateTimeOriginal, ExifDirectoryBase.TagSubsecondTimeOriginal,
            ExifDirectoryBase.TagTimeZoneOriginal),
        (ExifDirectoryBase.TagDateTimeDigitized, ExifDirectoryBase.TagSubsecondTimeDigitized,
            ExifDirectoryBase.TagTimeZoneDigitized),
    ];

    private static (DateTime? Start, double Resolution, bool ZoneKnown) Start(List<ExifDirectoryBase> exif,
        FrameOverrides overrides)
    {
        (int Time, int Part, int Zone) tags = _times.FirstOrDefault(t => IsTime(Text(exif, t.Time)));
        if (tags.Time == 0)
        {
            return (null, 1, false);
        }

        string text = Text(exif, tags.Time)!;
        if (!DateTime.TryParseExact(text.Trim(), "yyyy:MM:dd HH:mm:ss", CultureInfo.InvariantCulture,
            DateTimeStyles.None, out DateTime local))
        {
            throw new FrameReadException($"the Exif time '{text}' is not of the form 2025:01:31 21:15:00.");
        }

        if (!FrameInfo.IsDated(local))
        {
            return (null, 1, false);
        }

        double resolution = 1;
        string? part = Text(exif, tags.Part)?.Trim('\0', ' ');
        if (!string.IsNullOrEmpty(part) && part.All(char.IsAsciiDigit) && part.Length <= 9)
        {
            local = local.AddSeconds(double.Parse("0." + part, CultureInfo.InvariantCulture));
            resolution = Math.Pow(10, -part.Length);
        }
        // Some cameras write one zone for all times.
        TimeSpan? named = Zone(Text(exif, tags.Zone)) ?? Zone(Text(exif, ExifDirectoryBase.TagTimeZone));
        TimeSpan zone = named ?? overrides.ZoneOffset ?? TimeSpan.Zero;
        DateTime utc = DateTime.SpecifyKind(local - zone, DateTimeKind.Utc).AddSeconds(-overrides.ClockOffsetSeconds);
        return (utc, resolution, named is not null);
    }

    private static bool IsTime(string? text) => !string.IsNullOrWhiteSpace(text)
        && !text.StartsWith("0000", StringComparison.Ordinal) && !text.StartsWith("    ", StringComparison.Ordinal);

    private static TimeSpan? Zone(string? text)
    {
        text = text?.Trim('\0', ' ');
        if (string.IsNullOrEmpty(text) || text.Contains(' ', StringComparison.Ordinal))
        {
            return null;
        }

        if (text == "Z")
        {
            return TimeSpan.Zero;
        }

        if (text.Length == 6 && text[0] is '+' or '-'
            && TimeSpan.TryParseExact(text[1..], "hh\\:mm", CultureInfo.InvariantCulture, out TimeSpan size)
            && size < TimeSpan.FromHours(15))
        {
            return text[0] == '-' ? -size : size;
        }

        throw new FrameReadException($"the Exif zone '{text}' is not of the form +01:00.");
    }

    // Exif FocalPlaneXResolution is pixels per unit; unit 2 is the inch, 3 the centimetre, 4 and 5 mm and micrometre.
    private static double? PixelPitchMicron(List<ExifDirectoryBase> exif)
    {
        if (Number(exif, ExifDirectoryBase.TagFocalPlaneXResolution) is not ({ } density and > 0))
        {
            return null;
        }

        double unitMm = Number(exif, ExifDirectoryBase.TagFocalPlaneResolutionUnit) switch
        {
            3 => 10,
            4 => 1,
            5 => 0.001,
            _ => MmPerInch,
        };
        double micron = unitMm / density * 1000;
        return micron is > 0.3 and < FrameInfo.WidestMicron ? micron : null;
    }

    private static double? Number(List<ExifDirectoryBase> exif, int tag)
    {
        foreach (MetaDirectory d in exif)
        {
            if (d.TryGetDouble(tag, out double value) && double.IsFinite(value))
            {
                return value;
            }
        }
        return null;
    }

    private static string? Text(List<ExifDirectoryBase> exif, int tag)
    {
        foreach (MetaDirectory d in exif)
        {
            if (d.GetString(tag) is { Length: > 0 } text)
            {
                return text;
            }
        }
        return null;
    }
}
