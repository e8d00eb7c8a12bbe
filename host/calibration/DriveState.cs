// A correction belongs to the drive on which it was measured. The rig file keeps a digest of the drive's constants,
// the time from which they hold, and for each method what it was measured against; readings of another state are
// rejected.

using System.Globalization;
using Hourhinge.Calibration.Readings;
using Hourhinge.Rig;
using Hourhinge.SharedMath.Profile;

namespace Hourhinge.Calibration;

/// <summary>The state of a rig's drive constants.</summary>
public static class DriveState
{
    /// <summary>CRC-32 of all constants that make the profile, 8 hexadecimal digits. Names, camera, notes and comments
    /// do not count.</summary>
    public static string DigestOf(RigDescription rig)
    {
        byte[] bytes = [.. RigDrive.Parameters(rig).Values.SelectMany(v => BitConverter.GetBytes((long)v))];
        return ((uint)Crc32.Of(bytes, 0, bytes.Length)).ToString("x8", CultureInfo.InvariantCulture);
    }

    /// <summary>Rejects readings of the moving drive that were taken on other constants than the rig file has now, or
    /// that the rig file contains already.</summary>
    /// <param name="rig">The rig as its file is now.</param>
    /// <param name="method">turns or stars.</param>
    /// <param name="readings">The readings.</param>
    /// <exception cref="MeasurementException">They do not belong to the rig file's present drive.</exception>
    public static void Check(RigDescription rig, string method, ReadingsStamp readings)
    {
        if (rig.Calibration is not { } c)
        {
            return;
        }

        string? before = c.Against.GetValueOrDefault(method);
        if (before != null && before.Contains($"readings {readings.Digest} ", StringComparison.Ordinal))
        {
            throw new MeasurementException(
                $"{readings.Source}: the rig file contains the correction from these readings already "
                + $"([calibration] {method}_against); applied twice it would be wrong. Upload the new profile and "
                + "measure again.");
        }

        // Edited by hand since: the time is not that of the present constants.
        bool isCurrent = c.DriveDigest == DigestOf(rig);
        if (isCurrent && DateTime.TryParse(c.DriveSince, CultureInfo.InvariantCulture,
                DateTimeStyles.AssumeUniversal | DateTimeStyles.AdjustToUniversal, out DateTime since)
            && readings.TimeUtc < since)
        {
            throw new MeasurementException(
                $"{readings.Source}: these readings are of {readings.TimeText}, and the {c.DriveBy} calibration of "
                + $"{c.DriveSince} has changed the drive since (digest {c.DriveDigest}); they measured another drive. "
                + "Upload the new profile and measure again, or undo that calibration first.");
        }
    }

    /// <summary>What a correction was measured against, for the rig file.</summary>
    /// <param name="rig">The rig before the correction.</param>
    /// <param name="method">turns, rod or stars.</param>
    /// <param name="readings">The readings.</param>
    public static RigChange Against(RigDescription rig, string method, ReadingsStamp readings) =>
        new("calibration", $"{method}_against",
            $"\"drive {DigestOf(rig)}, readings {readings.Digest} of {readings.TimeText}\"");

    /// <summary>The lines that tell the new state; none when the drive's constants stay as they were.</summary>
    /// <param name="before">The rig before the correction.</param>
    /// <param name="after">The rig with it.</param>
    /// <param name="method">The method that changed it.</param>
    /// <param name="nowUtc">The time from which the new constants hold.</param>
    public static IEnumerable<RigChange> Changed(RigDescription before, RigDescription after, string method,
        DateTime nowUtc)
    {
        string digest = DigestOf(after);
        if (digest == DigestOf(before))
        {
            yield break;
        }

        yield return new RigChange("calibration", "drive_digest", $"\"{digest}\"");
        yield return new RigChange("calibration", "drive_since",
            $"\"{nowUtc.ToString("yyyy-MM-dd'T'HH:mm:ss'Z'", CultureInfo.InvariantCulture)}\"");
        yield return new RigChange("calibration", "drive_by", $"\"{method}\"");
    }
}
