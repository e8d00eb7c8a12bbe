// Options that say where a field is: a target by name, or declination and hour angle.

using Hourhinge.App.Common;
using Hourhinge.Calibration.Stars;
using Hourhinge.Numerics;
using Hourhinge.Rig;
using static Hourhinge.App.Common.ConsoleOutput;

namespace Hourhinge.App.Calibrate;

/// <summary>Parses the options into a <see cref="FieldTarget"/>.</summary>
internal static class FieldAim
{
    /// <summary>From the options of the command line; null where they leave the place to the frames.</summary>
    public static FieldTarget? Of(string? target, double? declinationDeg, double? hourAngleHours)
    {
        if (target != null)
        {
            return declinationDeg == null && hourAngleHours == null
                ? new FieldTarget($"--target {target}", SkyTarget.Find(target).Place, default, default)
                : throw new InputException(
                    "--target: it gives declination and hour angle already; leave --dec and --hour-angle out.");
        }

        if (declinationDeg == null && hourAngleHours == null)
        {
            return null;
        }

        return declinationDeg is { } dec && hourAngleHours is { } hour
            ? new FieldTarget($"--dec {Number(dec, 2)} --hour-angle {Number(hour, 2)}", null, Angle.FromDegrees(dec),
                Angle.FromHours(hour))
            : throw new InputException(
                "Where did the camera look? Give both --dec (-85 to 85 degrees) and --hour-angle (-12 to 12 hours, "
                + "west "
                + "positive), --target (M31, Vega, or RA,DEC in degrees), or none of them for frames that show enough "
                + "stars to be recognised.");
    }

    /// <summary>From DIR, DIR,TARGET or DIR,DECLINATION,HOUR-ANGLE; a folder's name may hold commas.</summary>
    public static (DirectoryInfo Folder, FieldTarget? Target) OfSecond(string text)
    {
        if (Directory.Exists(text))
        {
            return (new DirectoryInfo(text), null);
        }

        string[] parts = text.Split(',');
        if (parts.Length >= 3 && Parse(parts[^2], "deg") is { } dec && Parse(parts[^1], "h") is { } hour)
        {
            return Math.Abs(dec) <= 85 && Math.Abs(hour) <= 12
                ? (new DirectoryInfo(string.Join(',', parts[..^2])), Of(null, dec, hour))
                : throw new InputException(
                    $"--second {text}: declination must be -85 to 85 degrees, hour angle -12 to 12 hours.");
        }

        return parts.Length >= 2
            ? (new DirectoryInfo(string.Join(',', parts[..^1])), Of(parts[^1], null, null))
            : throw new InputException(
                $"--second {text}: must be DIR, DIR,TARGET or DIR,DECLINATION,HOUR-ANGLE, such as field2, "
                + "field2,M45 or field2,40,5.5; there is no such folder.");
    }

    private static double? Parse(string text, string unit) =>
        QuantityParser.TryParse(text, unit, out double value, out _) ? value : null;
}
