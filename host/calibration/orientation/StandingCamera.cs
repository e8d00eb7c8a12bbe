// Recognised frames of a camera that may stand still: how far the drive turned it over the ground. A standing camera
// sees the sky turn at the Earth's rate. Not here: a drive near the sky's rate (DriftFit).
using Hourhinge.Numerics;
using MathNet.Numerics.Distributions;

namespace Hourhinge.Calibration.Orientation;

/// <summary>One frame of a standing camera.</summary>
/// <param name="Name">Its name.</param>
/// <param name="TimeSec">Middle of its exposure, since the first frame's.</param>
/// <param name="TurnArcsec">How far the sky had turned about the pole since then.</param>
/// <param name="ResidualArcsec">That less the fitted line.</param>
public readonly record struct StandingReading(string Name, double TimeSec, double TurnArcsec, double ResidualArcsec);

/// <summary>How the camera turned over the ground.</summary>
/// <param name="SkyRateArcsecPerSec">Rate at which the sky turned about the pole as the camera saw it; 15.041067 for a
/// camera that stands still (IERS Conventions 2010, nominal rotation rate).</param>
/// <param name="DriveRatePercent">The drive's rate error: -100 for a stopped one.</param>
/// <param name="Frames">Frames behind it.</param>
/// <param name="SpanSec">From the first to the last.</param>
public sealed record StandingCamera(
    Estimate SkyRateArcsecPerSec, Estimate DriveRatePercent, int Frames, double SpanSec)
{
    /// <summary>Each frame against the line, by time.</summary>
    public IReadOnlyList<StandingReading> Readings { get; init; } = [];

    /// <summary>A drive this slow is stopped, %.</summary>
    private const double StoppedPercent = 3;

    private const double StampSigmaSec = 0.29;
    private const double FineSigmaSec = 0.01;

    /// <summary>True where the field stands still against the ground.</summary>
    public bool IsStopped => Math.Abs(DriveRatePercent.Value + 100) < StoppedPercent;

    /// <summary>From two frames or more, in any order.</summary>
    /// <returns>Null with fewer than two frames or less than 20 s between them.</returns>
    public static StandingCamera? Of(IReadOnlyList<RecognisedFrame> frames)
    {
        RecognisedFrame[] ordered = [.. frames.OrderBy(f => f.Frame.Info.MidUtc)];
        if (ordered.Length < 2)
        {
            return null;
        }

        DateTime start = ordered[0].Frame.Info.MidUtc!.Value;
        double[] t = [.. ordered.Select(f => (f.Frame.Info.MidUtc!.Value - start).TotalSeconds)];
        if (t[^1] < 20)
        {
            return null;
        }

        Rotation first = ordered[0].FromGround;
        // The camera followed the sky by a turn towards the west, which is negative about the north pole.
        Vector3[] turns = [.. ordered.Select(f => Vector(f.FromGround.Inverse().After(first)))];
        double[] seen = [.. turns.Select((v, i) => ((ApparentDrift.RadPerSec * t[i]) + v.Z)
            * ApparentDrift.ArcsecPerRad)];
        Estimate rate = Slope(t, seen, ordered);
        Estimate drive = rate.Times(-100 / ApparentDrift.ArcsecPerSec);
        double offset = seen.Average() - (rate.Value * t.Average());
        return new StandingCamera(rate, drive, ordered.Length, t[^1])
        {
            Readings = [.. ordered.Select((f, i) => new StandingReading(f.Frame.Info.Name, t[i], seen[i],
                seen[i] - offset - (rate.Value * t[i])))],
        };
    }

    // A straight line; its error is the larger of what the scatter shows and what the frames expect of themselves.
    private static Estimate Slope(double[] t, double[] seen, RecognisedFrame[] frames)
    {
        double mid = t.Average(), middle = seen.Average(), weight = t.Sum(x => (x - mid) * (x - mid));
        double slope = t.Zip(seen, (x, y) => (x - mid) * (y - middle)).Sum() / weight;
        double square = t.Zip(seen, (x, y) => Math.Pow(y - middle - (slope * (x - mid)), 2)).Sum();
        double stamp = frames[0].Frame.Info.StampResolutionSeconds >= 1 ? StampSigmaSec : FineSigmaSec;
        double expected = Math.Sqrt(frames.Average(f => Math.Pow(f.TurnSigmaRad * ApparentDrift.ArcsecPerRad, 2))
            + Math.Pow(stamp * ApparentDrift.ArcsecPerSec, 2));
        int free = t.Length - 2;
        double scatter = free > 0 ? Math.Sqrt(square / free) : 0;
        double factor = scatter > expected ? StudentT.InvCDF(0, 1, free, 0.975) : 1.96;
        double sigma = Math.Max(scatter, expected) / Math.Sqrt(weight);
        return new Estimate(slope, sigma, factor * sigma);
    }

    // The rotation vector of a turn of less than half a circle.
    internal static Vector3 Vector(Rotation r)
    {
        var twice = new Vector3(r.Row3.Y - r.Row2.Z, r.Row1.Z - r.Row3.X, r.Row2.X - r.Row1.Y);
        double sine = twice.Length / 2, cosine = (r.Row1.X + r.Row2.Y + r.Row3.Z - 1) / 2;
        return sine < 1e-12 ? new Vector3(0, 0, 0) : twice * (Math.Atan2(sine, cosine) / (2 * sine));
    }
}
