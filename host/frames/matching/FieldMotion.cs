// How one frame's stars lie against another's: the turn of the camera between them as a rotation vector, or without a
// focal length the plane similarity (shift, turn, scale). Robust: Tukey weights on pair residuals. Air squeezes a field
// towards the horizon, by more as it sinks. Stars that fill an oblong frame would take part of that squeeze for a turn
// (10 arcsec in half an hour, half an arcminute of axis error), so it has two terms of its own. Not here: which star is
// which (StarMatcher), what a run of motions means (Calibration).
using Hourhinge.Frames.Stars;
using Hourhinge.Numerics;
using MathNet.Numerics.LinearAlgebra;

namespace Hourhinge.Frames.Matching;

/// <summary>A star seen in both frames.</summary>
public readonly record struct StarPair(Star Reference, Star Seen);

/// <summary>Motion of the star field from the reference frame to another, about the frame's centre.</summary>
/// <param name="ShiftXPx">Where the reference frame's central point went, columns.</param>
/// <param name="ShiftYPx">The same, rows.</param>
/// <param name="RotationRad">Turn about the centre, positive from +x towards +y.</param>
/// <param name="Scale">Size of the seen field over the reference's; 1 for the same lens.</param>
/// <param name="SigmaShiftPx">Standard error of each shift component.</param>
/// <param name="SigmaRotationRad">Standard error of the turn.</param>
/// <param name="Pairs">Star pairs that carried the fit.</param>
/// <param name="ResidualPx">RMS residual per axis of those pairs.</param>
public sealed record FieldMotion(
    double ShiftXPx, double ShiftYPx, double RotationRad, double Scale,
    double SigmaShiftPx, double SigmaRotationRad, int Pairs, double ResidualPx)
{
    // Below this no centroid is believed: seeing and optics wander by more than photon noise says.
    private const double FloorPx = 0.03;
    private const int Rounds = 8;
    private const int PairsForSqueeze = 12;

    /// <summary>Fits the motion.</summary>
    /// <param name="pairs">Matched stars.</param>
    /// <param name="width">Columns of the frame.</param>
    /// <param name="height">Rows of the frame.</param>
    /// <param name="focalLengthPx">Focal length in pixels, for the exact turn of a wide field; null for a plane
    /// similarity, whose shift errs by about the mean squared field angle (2 % for a 27 by 18 degree field).</param>
    /// <param name="start">First guess; needed where the field turns by more than some 30 degrees.</param>
    /// <returns>The motion, or null with fewer than 4 usable pairs.</returns>
    public static FieldMotion? Fit(IReadOnlyList<StarPair> pairs, int width, int height, double? focalLengthPx,
        FieldMotion? start = null) => FitWithResiduals(pairs, width, height, focalLengthPx, start)?.Motion;

    /// <summary>The same, with what is left of each pair: seen minus predicted, px, not a number for a pair left
    /// out.</summary>
    internal static (FieldMotion Motion, (double X, double Y)[] Residuals)? FitWithResiduals(
        IReadOnlyList<StarPair> pairs, int width, int height, double? focalLengthPx, FieldMotion? start)
    {
        if (pairs.Count < 4)
        {
            return null;
        }

        double cx = (width - 1) / 2.0, cy = (height - 1) / 2.0;
        var m = new Solver(pairs, cx, cy, focalLengthPx, pairs.Count >= PairsForSqueeze ? 6 : 4);
        double[] weights = pairs.Select(pair => 1 / Variance(pair)).ToArray();
        double[] baseWeights = (double[])weights.Clone();
        double[] p = start is null
            ? new double[6]
            : new[] { start.ShiftXPx, start.ShiftYPx, start.RotationRad, Math.Log(start.Scale), 0, 0 };
        double spread = 1;
        for (int round = 0; round < Rounds; round++)
        {
            m.Improve(p, weights);
            double[] r = m.Residuals(p).Select((v, i) => Math.Sqrt(Square(v) * baseWeights[i])).ToArray();
            spread = Math.Max(Median.Of(r) / 1.1774, 0.3);
            for (int i = 0; i < r.Length; i++)
            {
                weights[i] = baseWeights[i] * RobustWeights.Tukey(r[i], RobustWeights.Tukey95 * spread);
            }
        }
        int used = weights.Count(w => w > 0);
        if (used < 4)
        {
            return null;
        }

        (double X, double Y)[] residuals = m.Residuals(p).ToArray();
        double chi = 0, sum = 0, sx = 0, sy = 0;
        for (int i = 0; i < residuals.Length; i++)
        {
            chi += weights[i] * Square(residuals[i]);
            sum += weights[i] > 0 ? Square(residuals[i]) : 0;
            if (weights[i] <= 0)
            {
                residuals[i] = (double.NaN, double.NaN);
            }
        }
        (sx, sy) = m.Shift(p);
        Matrix<double> covariance = m.Normal(weights).Inverse()
            * Math.Max(chi / Math.Max((2 * used) - m.Count, 1), 0.2);
        double shiftSigma = Math.Sqrt(Math.Max(covariance[0, 0], covariance[1, 1]));
        return (new FieldMotion(sx, sy, p[2], Math.Exp(p[3]), shiftSigma, Math.Sqrt(covariance[2, 2]), used,
            Math.Sqrt(sum / (2 * used))), residuals);
    }

    /// <summary>Where a reference point appears in the seen frame.</summary>
    public (double X, double Y) Apply(double x, double y, int width, int height)
    {
        double dx = x - ((width - 1) / 2.0), dy = y
            - ((height - 1) / 2.0), c = Scale * Math.Cos(RotationRad), s = Scale * Math.Sin(RotationRad);
        return (((width - 1) / 2.0) + ShiftXPx + (c * dx) - (s * dy),
            ((height - 1) / 2.0) + ShiftYPx + (s * dx) + (c * dy));
    }

    private static double Variance(StarPair p) =>
        Square(p.Reference.CentroidSigmaPx) + Square(p.Seen.CentroidSigmaPx) + (2 * FloorPx * FloorPx)
        + (p.Reference.Cautions != StarCautions.None || p.Seen.Cautions != StarCautions.None ? 0.04 : 0);

    private static double Square(double v) => v * v;

    private static double Square((double X, double Y) v) => (v.X * v.X) + (v.Y * v.Y);

    // Own steps of Gauss and Newton instead of the front end of host/numerics: one weight holds for both coordinates of
    // a star and is drawn anew between single steps, and a run takes some thousands of fits, each of which the front
    // end would begin with allocations for every star (a Jacobian of 2n by 6). Not measured against it. Parameters:
    // turn of the lines of sight about the sensor's y and -x axes (shift over focal length, or shift in pixels without
    // one), about the optical axis, the logarithm of the scale, and the squeeze along x and along the diagonal. Count
    // of them in use: 4 or 6.
    private sealed class Solver(IReadOnlyList<StarPair> pairs, double cx, double cy, double? focal, int count)
    {
        public int Count => count;

        public void Improve(double[] p, double[] weights)
        {
            Matrix<double> normal = Matrix<double>.Build.Dense(count, count);
            Vector<double> right = Vector<double>.Build.Dense(count);
            Accumulate(p, weights, normal, right);
            for (int i = 0; i < count; i++)
            {
                normal[i, i] += 1e-12 * (normal[i, i] + 1e-12);
            }

            Vector<double> step = normal.Solve(right);
            for (int i = 0; i < count; i++)
            {
                p[i] += double.IsFinite(step[i]) ? step[i] : 0;
            }
        }

        public Matrix<double> Normal(double[] weights)
        {
            Matrix<double> normal = Matrix<double>.Build.Dense(count, count);
            Accumulate(new double[6], weights, normal, Vector<double>.Build.Dense(count));
            return normal;
        }

        public IEnumerable<(double X, double Y)> Residuals(double[] p)
        {
            var prediction = new Prediction(p, focal);
            foreach (StarPair pair in pairs)
            {
                (double x, double y) = prediction.At(pair.Reference.X - cx, pair.Reference.Y - cy);
                yield return (pair.Seen.X - cx - x, pair.Seen.Y - cy - y);
            }
        }

        public (double X, double Y) Shift(double[] p) => new Prediction(p, focal).At(0, 0);

        private void Accumulate(double[] p, double[] weights, Matrix<double> normal, Vector<double> right)
        {
            double[] gx = new double[6];
            double[] gy = new double[6];
            double[] moved = (double[])p.Clone();
            var at = new Prediction(p, focal);
            double[] steps = new double[count];
            var shifted = new Prediction[count];
            for (int i = 0; i < count; i++)
            {
                steps[i] = i < 2 ? 1e-3 : 1e-7;
                moved[i] = p[i] + steps[i];
                shifted[i] = new Prediction(moved, focal);
                moved[i] = p[i];
            }

            for (int n = 0; n < pairs.Count; n++)
            {
                if (weights[n] <= 0)
                {
                    continue;
                }

                double x = pairs[n].Reference.X - cx, y = pairs[n].Reference.Y - cy;
                (double px, double py) = at.At(x, y);
                for (int i = 0; i < count; i++)
                {
                    (double qx, double qy) = shifted[i].At(x, y);
                    (gx[i], gy[i]) = ((qx - px) / steps[i], (qy - py) / steps[i]);
                }
                double ex = pairs[n].Seen.X - cx - px, ey = pairs[n].Seen.Y - cy - py;
                for (int i = 0; i < count; i++)
                {
                    right[i] += weights[n] * ((gx[i] * ex) + (gy[i] * ey));
                    for (int j = 0; j < count; j++)
                    {
                        normal[i, j] += weights[n] * ((gx[i] * gx[j]) + (gy[i] * gy[j]));
                    }
                }
            }
        }
    }

    // Where the parameters put a point at (x, y) from the centre. With a focal length the line of sight (x, y, f) is
    // turned by the rotation vector (-p1/f, p0/f, p2).
    private readonly struct Prediction
    {
        private readonly double _squeezeX, _squeezeXy, _scale, _shiftX, _shiftY, _focal;
        private readonly Rotation _turn;

        public Prediction(double[] p, double? focal)
        {
            (_shiftX, _shiftY, _scale, _squeezeX, _squeezeXy) = (p[0], p[1], Math.Exp(p[3]), p[4], p[5]);
            _focal = focal ?? 0;
            _turn = focal is { } f
                ? Rotation.By(new Vector3(-p[1] / f, p[0] / f, p[2]))
                : Rotation.By(new Vector3(0, 0, p[2]));
        }

        public (double X, double Y) At(double x, double y)
        {
            (x, y) = (x + (_squeezeX * x) + (_squeezeXy * y), y + (_squeezeXy * x) - (_squeezeX * y));
            Vector3 v = _turn.Apply(new Vector3(x, y, _focal));
            return _focal > 0
                ? (_scale * _focal * v.X / v.Z, _scale * _focal * v.Y / v.Z)
                : (_shiftX + (_scale * v.X), _shiftY + (_scale * v.Y));
        }
    }
}
