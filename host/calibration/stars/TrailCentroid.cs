// Where the star finder sees a star that moved during the exposure. Its window (StarMeasure: a Gaussian of 1.2 times
// the star's variance, moved and reshaped until it matches) does not find the mean of the light: it leans to where the
// star stayed longest. A sine is then seen larger than its mean, by up to some percent at long exposures and focal
// lengths.
namespace Hourhinge.Calibration.Stars;

/// <summary>The window's fixed point on a star blurred along a path.</summary>
/// <param name="exposureSec">Exposure, s.</param>
/// <param name="spotVariancePx2">Variance of a star that does not move, px²; infinity for the plain mean.</param>
/// <param name="pxPerRad">Pixels on the sensor for a radian along the path.</param>
public sealed class TrailCentroid(double exposureSec, double spotVariancePx2, double pxPerRad)
{
    private const int Nodes = 24;
    private const int Rounds = 40;
    private const double Wider = 1.2, MinWindow = 0.6;

    /// <summary>The place that the finder reports for a frame in mid-exposure at a time, in the path's unit.</summary>
    /// <param name="path">Place along the path at a time, rad.</param>
    /// <param name="midSec">Middle of the exposure, s.</param>
    public double At(Func<double, double> path, double midSec)
    {
        double origin = path(midSec), mean = 0, square = 0;
        double[] u = new double[Nodes];
        for (int k = 0; k < Nodes; k++)
        {
            u[k] = (path(midSec + (exposureSec * (((k + 0.5) / Nodes) - 0.5))) - origin) * pxPerRad;
            mean += u[k] / Nodes;
            square += u[k] * u[k] / Nodes;
        }

        double spread = square - (mean * mean);
        if (!double.IsFinite(spotVariancePx2) || spread < 1e-6)
        {
            return origin + (mean / pxPerRad);
        }

        double x = mean, shape = spotVariancePx2 + spread;
        for (int round = 0; round < Rounds; round++)
        {
            // A Gaussian of the spot's variance times the window: its weight, centre and variance.
            double window = Math.Max(Wider * shape, MinWindow), both = spotVariancePx2 + window;
            double sum = 0, first = 0, second = 0;
            for (int k = 0; k < Nodes; k++)
            {
                double d = u[k] - x, weight = Math.Exp(-0.5 * d * d / both), at = d * window / both;
                (sum, first, second) = (sum + weight, first + (weight * at), second + (weight * at * at));
            }

            double centre = first / sum;
            double product = (spotVariancePx2 * window / both) + (second / sum) - (centre * centre);
            double next = 1 / Math.Max((1 / product) - (1 / window), 1e-3);
            double step = (1 + (1 / Wider)) * centre;
            (x, shape) = (x + step, next);
            if (Math.Abs(step) < 1e-6)
            {
                break;
            }
        }

        return origin + (x / pxPerRad);
    }
}
