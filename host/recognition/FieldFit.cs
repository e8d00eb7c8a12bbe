// Fits a field to pairs of sources and catalogue stars. Quick: a few steps of Gauss and Newton while the field is still
// growing. Final: the robust fit of the numerics library.
using System.Runtime.CompilerServices;
using System.Runtime.InteropServices;
using Hourhinge.Numerics;
using Hourhinge.Sky.Stars;
using MathNet.Numerics.LinearAlgebra;

namespace Hourhinge.Recognition;

/// <summary>Fits of <see cref="CameraModel"/>.</summary>
internal sealed class FieldFit
{
    /// <summary>
    /// Prior standard deviation of each distortion term, as the part by which it shifts a corner. It only matters where
    /// the stars do not tell: lenses for cameras distort by less than 5 % (common practice, no source), two terms of
    /// opposite sign by more each.
    /// </summary>
    public const double DistortionPrior = 0.06;

    /// <summary>The same where the lens has been measured before.</summary>
    public const double MeasuredPrior = 0.01;

    /// <summary>Prior standard deviation of the axis along x and y, as a part of half the frame's diagonal: 0.2 mm on
    /// full frame (common practice, no source). A narrow field does not show its axis, and keeps it near the
    /// centre.</summary>
    public const double AxisPrior = 0.01;

    /// <summary>The same for a frame that was cut out of a larger one: its axis may lie anywhere in that.</summary>
    public const double CroppedAxisPrior = 1;

    // Of the scatter of all matches, the part that bright stars have too.
    private const double CommonPart = 0.7;
    // Of angles in radians and of shares.
    private const double SlopeStep = 1e-6;
    // With and without the place of the lens's axis.
    private const int AllTerms = 8, SearchTerms = 6;
    private readonly int _terms;
    private readonly ImageStars _image;
    private readonly Func<Vector3, Vector3>? _seen;
    private readonly Dictionary<int, Vector3> _seenDirections = [];
    private readonly LensDistortion _expected;
    private readonly double _prior;
    private readonly double _axisPrior;

    /// <summary>Prepares fits of one frame.</summary>
    /// <param name="image">Its sources.</param>
    /// <param name="hint">What is known.</param>
    /// <param name="isSearch">Whether the axis stays where it is: a search needs no more.</param>
    /// <param name="axisPrior">As <see cref="AxisPrior"/>.</param>
    public FieldFit(ImageStars image, FieldHint hint, bool isSearch, double axisPrior = AxisPrior)
    {
        _axisPrior = axisPrior;
        _terms = isSearch || hint.Axis is not null ? SearchTerms : AllTerms;
        _image = image;
        _seen = hint.SeenDirection;
        _expected = hint.Lens ?? LensDistortion.None;
        _prior = hint.Lens is null ? DistortionPrior : MeasuredPrior;
    }

    /// <summary>Where a catalogue star is seen.</summary>
    public Vector3 Direction(int star)
    {
        Vector3 direction = StarCatalogue.Span[star].Direction;
        if (_seen is null)
        {
            return direction;
        }

        // Each is asked for some twenty times, and refraction takes its time.
        ref Vector3 seen = ref CollectionsMarshal.GetValueRefOrAddDefault(_seenDirections, star, out bool isKnown);
        return isKnown ? seen : seen = _seen(direction);
    }

    /// <summary>A better model by weighted least squares; residuals far above the others count little.</summary>
    /// <param name="start">Model to start from.</param>
    /// <param name="pairs">Pairs, two or more.</param>
    /// <param name="sigmaPx">Expected error of a place.</param>
    /// <param name="steps">Steps of Gauss and Newton.</param>
    [MethodImpl(MethodImplOptions.AggressiveOptimization)]
    public CameraModel Quick(CameraModel start, List<Pair> pairs, double sigmaPx, int steps)
    {
        CameraModel model = start;
        int terms = _terms, row = terms + 1;
        Span<double> change = stackalloc double[terms];
        Span<double> slopesX = stackalloc double[terms], slopesY = stackalloc double[terms];
        Span<double> normal = stackalloc double[terms * row];
        Span<CameraModel> changed = stackalloc CameraModel[terms];
        for (int step = 0; step < steps; step++)
        {
            double corner = _image.HalfDiagonal / model.FocalLengthPx;
            normal.Clear();
            for (int i = 0; i < terms; i++)
            {
                change.Clear();
                change[i] = SlopeStep;
                changed[i] = model.Changed(change, corner);
            }

            foreach (Pair pair in pairs)
            {
                Vector3 direction = Direction(pair.Star);
                if (!model.TryDraw(direction, out double x, out double y))
                {
                    continue;
                }

                for (int i = 0; i < terms; i++)
                {
                    changed[i].TryDraw(direction, out double x2, out double y2);
                    (slopesX[i], slopesY[i]) = ((x2 - x) / SlopeStep, (y2 - y) / SlopeStep);
                }

                double dx = _image.X[pair.Image] - x, dy = _image.Y[pair.Image] - y;
                double weight = RobustWeights.Huber(Math.Sqrt((dx * dx) + (dy * dy)), 3 * sigmaPx)
                    / (sigmaPx * sigmaPx);
                for (int i = 0; i < terms; i++)
                {
                    for (int j = 0; j <= i; j++)
                    {
                        normal[(i * row) + j] += weight * ((slopesX[i] * slopesX[j]) + (slopesY[i] * slopesY[j]));
                    }

                    normal[(i * row) + terms] += weight * ((slopesX[i] * dx) + (slopesY[i] * dy));
                }
            }

            AddPrior(model, corner, normal);
            if (!Solve(normal, change))
            {
                return model;
            }

            // A step that is not small is cut: the model is linear only near by.
            double largest = 0;
            foreach (double c in change)
            {
                largest = Math.Max(largest, Math.Abs(c));
            }

            double factor = largest > 0.2 ? 0.2 / largest : 1;
            for (int i = 0; i < terms; i++)
            {
                change[i] *= factor;
            }

            model = model.Changed(change, corner);
        }

        return model;
    }

    /// <summary>The final robust fit.</summary>
    /// <returns>Model, weights' outliers for each pair, and the covariance of the parameters of
    /// <see cref="CameraModel.Changed"/>, six or eight, with the corner used.</returns>
    public (CameraModel Model, bool[] IsOutlier, Matrix<double> Covariance, double Corner) Final(
        CameraModel start, List<Pair> pairs, double sigmaPx)
    {
        double corner = _image.HalfDiagonal / start.FocalLengthPx;
        Vector3[] directions = [.. pairs.Select(p => Direction(p.Star))];
        // Bright stars show what lens and catalogue leave; faint ones have their own error on top.
        double[] sigmas = [.. pairs.Select(p => Math.Sqrt(Math.Pow(CommonPart * sigmaPx, 2)
            + Math.Pow(Math.Min(_image.SigmaPx[p.Image], 3 * sigmaPx), 2)))];
        [MethodImpl(MethodImplOptions.AggressiveOptimization)]
        double[] Residuals(double[] p)
        {
            CameraModel model = start.Changed(p, corner);
            double[] r = new double[(2 * directions.Length) + _terms - 4];
            for (int i = 0; i < directions.Length; i++)
            {
                bool drawn = model.TryDraw(directions[i], out double x, out double y);
                r[2 * i] = drawn ? (_image.X[pairs[i].Image] - x) / sigmas[i] : double.NaN;
                r[(2 * i) + 1] = drawn ? (_image.Y[pairs[i].Image] - y) / sigmas[i] : double.NaN;
            }

            Span<double> prior = r.AsSpan(2 * directions.Length);
            Prior(model, corner, prior);
            for (int i = 0; i < prior.Length; i++)
            {
                prior[i] /= PriorOf(i, corner);
            }

            return r;
        }

        double small = sigmaPx / _image.HalfDiagonal;
        double angle = sigmaPx / start.FocalLengthPx;
        RobustFit fit = RobustFit.Solve(Residuals, new double[_terms],
            ((double[])[angle, angle, small, small, small, small, angle, angle])[.._terms]);
        bool[] outlier = [.. pairs.Select((_, i) => fit.IsOutlier[2 * i] || fit.IsOutlier[(2 * i) + 1])];
        return (start.Changed(fit.Parameters, corner), outlier, fit.Covariance, corner);
    }

    // Distortion terms less the expected ones, as the part by which a corner is shifted; and the axis as a tangent.
    private void Prior(in CameraModel model, double corner, Span<double> off)
    {
        off[0] = (model.Lens.K1 - _expected.K1) * corner * corner;
        off[1] = (model.Lens.K2 - _expected.K2) * corner * corner * corner * corner;
        if (off.Length > 2)
        {
            (off[2], off[3]) = (model.Axis.X / model.FocalLengthPx, model.Axis.Y / model.FocalLengthPx);
        }
    }

    private double PriorOf(int index, double corner) => index < 2 ? _prior : _axisPrior * corner;

    private void AddPrior(in CameraModel model, double corner, Span<double> normal)
    {
        int row = _terms + 1;
        Span<double> off = stackalloc double[_terms - 4];
        Prior(model, corner, off);
        for (int i = 0; i < off.Length; i++)
        {
            double weight = 1 / (PriorOf(i, corner) * PriorOf(i, corner));
            normal[((i + 4) * row) + i + 4] += weight;
            normal[((i + 4) * row) + _terms] -= weight * off[i];
        }
    }

    // Cholesky's method on the lower triangle; the right side is the last column.
    private static bool Solve(Span<double> m, Span<double> solution)
    {
        int terms = solution.Length, row = terms + 1;
        for (int i = 0; i < terms; i++)
        {
            for (int j = 0; j <= i; j++)
            {
                double sum = m[(i * row) + j];
                for (int k = 0; k < j; k++)
                {
                    sum -= m[(i * row) + k] * m[(j * row) + k];
                }

                if (i == j && !(sum > 0))
                {
                    return false;
                }

                m[(i * row) + j] = i == j ? Math.Sqrt(sum) : sum / m[(j * row) + j];
            }

            double right = m[(i * row) + terms];
            for (int k = 0; k < i; k++)
            {
                right -= m[(i * row) + k] * m[(k * row) + terms];
            }

            m[(i * row) + terms] = right / m[(i * row) + i];
        }

        for (int i = terms - 1; i >= 0; i--)
        {
            double right = m[(i * row) + terms];
            for (int k = i + 1; k < terms; k++)
            {
                right -= m[(k * row) + i] * solution[k];
            }

            solution[i] = right / m[(i * row) + i];
        }

        return true;
    }
}
