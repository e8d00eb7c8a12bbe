// Proposes fields: patterns of four sources are looked up among those of the catalogue; a candidate is first asked
// about a few more sources, because most candidates are accidents.
using Hourhinge.Numerics;
using Hourhinge.Recognition.Patterns;
using Hourhinge.Sky.Stars;

namespace Hourhinge.Recognition;

/// <summary>One guess of the focal length under which sources become directions.</summary>
/// <param name="FocalLengthPx">Guess.</param>
/// <param name="Lowest">Smallest true focal length over the guess that is accepted.</param>
/// <param name="Highest">Largest one.</param>
/// <param name="Tolerance">Tolerance of a pattern's numbers before the centroids' errors.</param>
internal readonly record struct ScaleGuess(double FocalLengthPx, double Lowest, double Highest, float Tolerance);

/// <summary>Searches the sky for one frame.</summary>
internal sealed class FieldSearch
{
    private const int ImageNeighbours = 7;
    private const double SlackMag = 0.25;
    private const double CentroidPx = 1.2;
    private const float MaxTolerance = 0.035f;
    private const int MoreSources = 16;
    private const double AcceptedLog = 6;
    private static readonly int[][] _triples = [.. PatternIndex.Triples(ImageNeighbours)];
    private readonly ImageStars _image;
    private readonly FieldHint _hint;
    private readonly FieldGrowth _growth;
    private readonly double _logRange;
    private readonly List<int> _found = [];
    private readonly Dictionary<int, int[]> _neighbours = [];
    private readonly Dictionary<int, int[]> _around = [];

    /// <summary>Prepares the search.</summary>
    /// <param name="image">Sources.</param>
    /// <param name="hint">What is known.</param>
    /// <param name="growth">Grows candidates.</param>
    /// <param name="logRange">For <see cref="FieldEvidence"/>.</param>
    public FieldSearch(ImageStars image, FieldHint hint, FieldGrowth growth, double logRange) =>
        (_image, _hint, _growth, _logRange) = (image, hint, growth, logRange);

    /// <summary>Patterns looked up, candidates found, candidates grown.</summary>
    public (int Patterns, int Candidates, int Grown) Effort { get; private set; }

    /// <summary>Tries the patterns around one source.</summary>
    /// <returns>An accepted field with the logarithm of its Bayes factor, or null.</returns>
    public (GrownField Field, double Log)? Try(int source, ScaleGuess guess, bool mirrored, PatternIndex index)
    {
        int[] near = Neighbours(source);
        if (near.Length < 3)
        {
            return null;
        }

        LensDistortion lens = _hint.Lens ?? LensDistortion.None;
        OpticalAxis axis = _hint.Axis ?? OpticalAxis.Centre;
        Vector3 origin = _image.Direction(source, guess.FocalLengthPx, lens, mirrored, axis);
        var plane = new PatternPlane(origin);
        var points = new (PatternPoint Point, int Source)[near.Length];
        for (int k = 0; k < near.Length; k++)
        {
            points[k] = (plane.Project(_image.Direction(near[k], guess.FocalLengthPx, lens, mirrored, axis)), near[k]);
        }

        Array.Sort(points, (x, y) => x.Point.Square.CompareTo(y.Point.Square));
        foreach (int[] t in _triples)
        {
            if (t[2] >= points.Length)
            {
                continue;
            }

            (PatternPoint Point, int Source) a = points[t[0]], b = points[t[1]], c = points[t[2]];
            double far = Math.Sqrt(_image.Square(source, c.Source));
            if (far < 25)
            {
                continue;
            }

            float tolerance = Math.Min(MaxTolerance, guess.Tolerance + (float)(CentroidPx / far));
            if (TryOrder(source, a, b, c) is { } field)
            {
                return field;
            }

            // Neighbours at nearly the same distance may be in the other order in the catalogue.
            if (a.Point.Square > 0.87 * b.Point.Square && TryOrder(source, b, a, c) is { } swapped)
            {
                return swapped;
            }

            if (b.Point.Square > 0.87 * c.Point.Square && TryOrder(source, a, c, b) is { } exchanged)
            {
                return exchanged;
            }

            (GrownField, double)? TryOrder(int s, (PatternPoint Point, int Source) x,
                (PatternPoint Point, int Source) y,
                (PatternPoint Point, int Source) z)
            {
                _found.Clear();
                index.Find(PatternCode.Of(x.Point, y.Point, z.Point), tolerance, _found);
                Effort = (Effort.Patterns + 1, Effort.Candidates + _found.Count, Effort.Grown);
                foreach (int pattern in _found)
                {
                    (int catalogueOrigin, int nearStar, int middleStar, int farStar) = index.Stars(pattern);
                    if (Candidate(s, z.Source, catalogueOrigin, farStar, guess, mirrored) is not { } model
                        || !Plausible(model, s, catalogueOrigin))
                    {
                        continue;
                    }

                    Effort = (Effort.Patterns, Effort.Candidates, Effort.Grown + 1);
                    List<Pair> pairs = [new(s, catalogueOrigin), new(x.Source, nearStar), new(y.Source, middleStar),
                        new(z.Source, farStar)];
                    if (_growth.Grow(model, pairs) is { } grown && Judge(grown) is { } log)
                    {
                        return (grown, log);
                    }
                }

                return null;
            }
        }

        return null;
    }

    /// <summary>The logarithm of the Bayes factor; null where the field is not accepted.</summary>
    public double? Judge(GrownField grown)
    {
        if (grown.Pairs.Count < FieldEvidence.MinMatches || !InRange(grown.Model))
        {
            return null;
        }

        double log = FieldEvidence.Log(_image, grown.Model, grown.Pairs, grown.InFrame, grown.Magnitudes,
            grown.SigmaPx, _logRange);
        return log >= FieldEvidence.AcceptedLog ? log : null;
    }

    private int[] Neighbours(int source) => _neighbours.TryGetValue(source, out int[]? known) ? known
        : _neighbours[source] = FindNeighbours(source);

    private int[] FindNeighbours(int source)
    {
        int[] near = _image.Nearest(source, _image.Magnitude[source] + SlackMag, ImageNeighbours + 2);
        if (near.Length < 3)
        {
            return near;
        }

        double least = _image.Square(source, near[Math.Min(near.Length, ImageNeighbours) - 1]) * 0.0016;
        return [.. near.Where(i => _image.Square(source, i) >= least).Take(ImageNeighbours)];
    }

    private bool InRange(in CameraModel model)
    {
        double corner = _image.HalfDiagonal / model.FocalLengthPx;
        return model.Lens.RisesTo(Math.Min(corner, 6))
            && Math.Abs(model.Lens.K1) * corner * corner < 0.4
            && (_hint.FocalLengthPx is not { } known
                || Math.Abs(Math.Log(model.FocalLengthPx / known)) < 1.3 * _hint.FocalLengthTolerance);
    }

    // Two stars give focal length and attitude.
    private CameraModel? Candidate(int a, int b, int starA, int starB, ScaleGuess guess, bool mirrored)
    {
        Vector3 skyA = StarCatalogue.Span[starA].Direction, skyB = StarCatalogue.Span[starB].Direction;
        if (_hint.Centre is { } centre && !NearHint(skyA, centre, guess.FocalLengthPx))
        {
            return null;
        }

        LensDistortion lens = _hint.Lens ?? LensDistortion.None;
        OpticalAxis axis = _hint.Axis ?? OpticalAxis.Centre;
        double focal = guess.FocalLengthPx;
        Vector3 cameraA = default, cameraB = default;
        double sky = (skyA - skyB).Length;
        // The ratio of two angles gives the focal length at once for small fields; wide ones need a second look.
        for (int i = 0; i < 3; i++)
        {
            cameraA = _image.Direction(a, focal, lens, mirrored, axis);
            cameraB = _image.Direction(b, focal, lens, mirrored, axis);
            focal *= (cameraA - cameraB).Length / sky;
            if (!(focal > guess.Lowest * guess.FocalLengthPx && focal < guess.Highest * guess.FocalLengthPx))
            {
                return null;
            }
        }

        Rotation toCamera = Axes(cameraA, cameraB).Inverse().After(Axes(skyA, skyB));
        return new CameraModel(toCamera, focal, lens, mirrored, axis);
    }

    private bool NearHint(Vector3 star, Vector3 centre, double focalLengthPx) =>
        Math.Acos(Math.Clamp(star.Dot(centre), -1, 1)) < _hint.CentreTolerance.Radians
            + (1.1 * Math.Atan(_image.HalfDiagonal / focalLengthPx));

    private static Rotation Axes(Vector3 a, Vector3 b)
    {
        Vector3 normal = a.Cross(b).Normalized();
        return new Rotation(a, normal, a.Cross(normal));
    }

    // Whether further sources near the pattern are where the catalogue has stars: logarithm of the likelihood ratio.
    private bool Plausible(in CameraModel model, int source, int origin)
    {
        double zero = StarCatalogue.Span[origin].Magnitude - _image.Magnitude[source];
        Rotation toSky = model.ToCamera.Inverse();
        double log = 0;
        int[] more = Around(source);
        for (int k = 0; k < more.Length; k++)
        {
            int i = more[k];
            double distance = Math.Sqrt(_image.Square(source, i));
            Vector3 camera = _image.Direction(i, model.FocalLengthPx, model.Lens, model.Mirrored, model.Axis);
            double chord = (2 + (0.035 * distance)) / model.FocalLengthPx * camera.Z;
            int limit = StarCatalogue.CountTo(_image.Magnitude[i] + zero + 1.2);
            // Stars crowd in the Milky Way: twice the mean density.
            double chance = Math.Min(0.9, limit * chord * chord / 2);
            bool hit = StarGrid.All.Nearest(toSky.Apply(camera), chord, 0, limit, out _) >= 0;
            log += hit ? Math.Log((0.6 + (0.4 * chance)) / chance) : Math.Log(0.4 / (1 - (0.9 * chance)));
            if (log < -3)
            {
                return false;
            }
        }

        // The pattern's own three stars are among them and have hit: they prove nothing.
        return log > AcceptedLog + 6;
    }

    private int[] Around(int source) => _around.TryGetValue(source, out int[]? known) ? known
        : _around[source] = _image.Nearest(source, _image.Magnitude[source] + 0.6, MoreSources);
}
