using Hourhinge.Sky.Stars;

namespace Hourhinge.Recognition;

/// <summary>How many catalogue stars are found in each region of a frame: a faint star is hardly real where brighter
/// ones are not seen.</summary>
internal sealed class FoundNearby
{
    private const int Asked = 10;
    private const double FainterMag = 0.3;
    private readonly Dictionary<int, int> _at = [];
    private readonly (int Star, double X, double Y, bool IsFound)[] _stars;

    /// <summary>Takes the catalogue stars of the frame and the matches.</summary>
    public FoundNearby(in CameraModel model, FieldFit fit, List<int> inFrame, List<Pair> pairs)
    {
        HashSet<int> found = [.. pairs.Select(p => p.Star)];
        _stars = new (int, double, double, bool)[inFrame.Count];
        for (int i = 0; i < _stars.Length; i++)
        {
            model.TryDraw(fit.Direction(inFrame[i]), out double x, out double y);
            _stars[i] = (inFrame[i], x, y, found.Contains(inFrame[i]));
            _at[inFrame[i]] = i;
        }
    }

    /// <summary>Share of stars found among the ten nearest ones that are brighter, or little fainter, than a star; one
    /// half of an unknown star is added to both sides.</summary>
    public double FoundAround(int star)
    {
        if (!_at.TryGetValue(star, out int own))
        {
            return 0.5;
        }

        int end = StarCatalogue.CountTo(StarCatalogue.Span[star].Magnitude + FainterMag);
        (double X, double Y) at = (_stars[own].X, _stars[own].Y);
        var nearest = new NearestFew(stackalloc double[Asked], stackalloc int[Asked]);
        for (int i = 0; i < _stars.Length && _stars[i].Star < end; i++)
        {
            double dx = _stars[i].X - at.X, dy = _stars[i].Y - at.Y;
            if (i != own)
            {
                nearest.Offer((dx * dx) + (dy * dy), i);
            }
        }

        int found = 0;
        foreach (int i in nearest.Indices)
        {
            found += _stars[i].IsFound ? 1 : 0;
        }

        return (found + 0.5) / (nearest.Indices.Length + 1);
    }
}
