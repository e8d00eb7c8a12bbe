// Where the camera looked: a target by name and the files' times, or declination and hour angle as the user gives them.

using System.Globalization;
using Hourhinge.App.Common;
using Hourhinge.Numerics;
using Hourhinge.Rig;
using Hourhinge.Sky.Observing;
using Hourhinge.Sky.Places;
using Hourhinge.Sky.Time;
using static Hourhinge.App.Common.ConsoleOutput;

namespace Hourhinge.App.Calibrate;

/// <summary>Where a field is; either a target, or declination and hour angle at the first frame's start.</summary>
internal sealed record FieldAim(string Given, SkyTarget? Target, Angle TypedDeclination, Angle TypedHourAngle)
{
    private const double LowestDeg = 5;

    /// <summary>From the options of the command line.</summary>
    public static FieldAim Of(string? target, double? declinationDeg, double? hourAngleHours)
    {
        if (target != null)
        {
            return declinationDeg == null && hourAngleHours == null
                ? new FieldAim($"--target {target}", SkyTarget.Find(target), default, default)
                : throw new InputException(
                    "--target: it gives declination and hour angle already; leave --dec and --hour-angle out.");
        }

        return declinationDeg is { } dec && hourAngleHours is { } hour
            ? new FieldAim($"--dec {Number(dec, 2)} --hour-angle {Number(hour, 2)}", null, Angle.FromDegrees(dec),
                Angle.FromHours(hour))
            : throw new InputException(
                "Where did the camera look? Give --target (M31, Vega, or RA,DEC in degrees), or both --dec (-85 to "
                + "85 degrees) and --hour-angle (-12 to 12 hours, west positive).");
    }

    /// <summary>From DIR,TARGET or DIR,DECLINATION,HOUR-ANGLE; a folder's name may hold commas.</summary>
    public static (DirectoryInfo Folder, FieldAim Aim) OfSecond(string text)
    {
        string[] parts = text.Split(',');
        if (parts.Length >= 3 && Parse(parts[^2]) is { } dec && Parse(parts[^1]) is { } hour)
        {
            return Math.Abs(dec) <= 85 && Math.Abs(hour) <= 12
                ? (new DirectoryInfo(string.Join(',', parts[..^2])), Of(null, dec, hour))
                : throw new InputException(
                    $"--second {text}: declination must be -85 to 85 degrees, hour angle -12 to 12 hours.");
        }

        return parts.Length >= 2
            ? (new DirectoryInfo(string.Join(',', parts[..^1])), Of(parts[^1], null, null))
            : throw new InputException(
                $"--second {text}: must be DIR,TARGET or DIR,DECLINATION,HOUR-ANGLE, such as field2,M45 or "
                + "field2,40,5.5.");
    }

    /// <summary>Declination of date.</summary>
    public Angle Declination(DateTime utc) => Target is { } t
        ? ApparentPlace.Of(t.Place, At(utc)).Declination
        : TypedDeclination;

    /// <summary>Hour angle at a moment, the first frame of the night having begun some seconds before it.</summary>
    public Angle HourAngle(DateTime utc, SiteData site, double sinceFirstSec) => Target is { } t
        ? Horizon.HourAngle(ApparentPlace.Of(t.Place, At(utc)), At(utc), Place(site)).HourAngle
        : TypedHourAngle + new Angle(Horizon.RotationRadPerSecond * sinceFirstSec);

    /// <summary>Refuses a field that was under the horizon: a wrong sign, or a clock of another zone.</summary>
    public void CheckAltitude(Angle declination, Angle hourAngle, SiteData site)
    {
        double altitude = Horizon.FromHourAngle(new HourAngleDeclination(hourAngle, declination),
            Angle.FromDegrees(site.LatitudeDeg)).Altitude.Degrees;
        if (altitude < LowestDeg)
        {
            throw new InputException(
                $"{Given}: at altitude {altitude:0}° as seen from the rig file's site; it must be {LowestDeg:0}° to "
                + "90°. Check signs, [site], and the zone of the camera's clock (--utc-offset).");
        }
    }

    private static Instant At(DateTime utc) => Instant.FromUtc(new DateTimeOffset(utc, TimeSpan.Zero));

    private static Site Place(SiteData site) => Site.FromDegrees(site.LatitudeDeg, site.LongitudeDeg, site.HeightM);

    private static double? Parse(string text) =>
        double.TryParse(text, NumberStyles.Float, CultureInfo.InvariantCulture, out double value) ? value : null;
}
