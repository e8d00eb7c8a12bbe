using Hourhinge.Rig;
using Hourhinge.SharedMath.Compile;
using Hourhinge.SharedMath.Profile;

namespace Hourhinge.App.Common;

/// <summary>
/// How far a profile is from the closed form of its drive. Measured on the bytes that are uploaded: they are decoded
/// and evaluated by the controller's own integer arithmetic at every second of the travel.
/// </summary>
/// <param name="WorstCounts">Largest difference found, counts (microsteps; fractions of a motor turn without an
/// encoder).</param>
/// <param name="WorstArcsec">The same as hinge angle, arcsec.</param>
/// <param name="BoundCounts">The compiler's upper bound of the difference between the samples too, counts.</param>
internal sealed record ProfileAccuracy(double WorstCounts, double WorstArcsec, double BoundCounts)
{
    /// <summary>A profile that differs by more than this is not uploaded, counts.</summary>
    public const double LimitCounts = ProfileCompiler.MaxErrorCounts;

    /// <summary>Whether both the measured difference and the compiler's bound are within the limit; false for
    /// not-a-number.</summary>
    public bool IsWithinLimit => WorstCounts <= LimitCounts && BoundCounts <= LimitCounts;

    /// <summary>Measures a compiled drive. Bytes that do not decode differ by an infinite amount.</summary>
    public static ProfileAccuracy Measure(CompiledDrive drive)
    {
        DriveProfile? profile = new ProfileCodec().Decode(drive.Bytes, 0, drive.Bytes.Length);
        if (profile == null)
        {
            return new ProfileAccuracy(double.PositiveInfinity, double.PositiveInfinity, drive.ErrorBoundSteps);
        }

        var evaluator = new ProfileEvaluator(profile);
        double worstCounts = 0;
        double worstArcsec = 0;
        for (int sec = 0; sec <= (int)drive.Design.TravelSec; sec++)
        {
            double counts = (double)evaluator.PositionQ16(sec * 1000000L) / DriveProfile.OneCount;
            double error = Math.Abs(counts - drive.Design.CountsAt(sec));
            worstCounts = Math.Max(worstCounts, error);
            worstArcsec = Math.Max(worstArcsec, error * drive.Design.ArcsecPerCountAt(sec));
        }

        return new ProfileAccuracy(worstCounts, worstArcsec, drive.ErrorBoundSteps);
    }
}
