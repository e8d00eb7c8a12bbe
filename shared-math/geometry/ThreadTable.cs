// Pitch of screw threads by their standard designations.

namespace Hourhinge.SharedMath.Geometry;

/// <summary>
/// Pitch of a thread by its standard designation.
/// Metric M3-M10: ISO 261:1998, table 2 (coarse and fine pitches of diameters 3 to 10 mm).
/// Inch #4 to 1/2": ASME B1.1, table 1 (UNC and UNF threads per inch; 25.4 mm to the inch).
/// </summary>
public static class ThreadTable
{
    // Metric: designation, pitch in micrometres. "M6" alone is the coarse pitch.
    private static readonly string[] _metricNames =
    {
        "M3", "M3x0.35", "M3.5", "M3.5x0.35", "M4", "M4x0.5", "M4.5", "M4.5x0.5", "M5", "M5x0.5", "M5.5x0.5",
        "M6", "M6x0.75", "M7", "M7x0.75", "M8", "M8x1", "M8x0.75", "M9", "M9x1", "M9x0.75",
        "M10", "M10x1.25", "M10x1", "M10x0.75",
    };

    private static readonly int[] _metricPitchMicrometres =
    {
        500, 350, 600, 350, 700, 500, 750, 500, 800, 500, 500,
        1000, 750, 1000, 750, 1250, 1000, 750, 1250, 1000, 750,
        1500, 1250, 1000, 750,
    };

    // Inch: size, threads per inch of UNC, of UNF.
    private static readonly string[] _inchSizes =
    {
        "4", "5", "6", "8", "10", "12", "1/4", "5/16", "3/8", "7/16", "1/2",
    };

    private static readonly int[] _coarsePerInch = { 40, 40, 32, 32, 24, 24, 20, 18, 16, 14, 13 };

    private static readonly int[] _finePerInch = { 48, 44, 40, 36, 32, 28, 28, 24, 24, 20, 20 };

    /// <summary>
    /// Pitch in mm of a thread such as "M6", "M8x1", "1/4-20", "8-32" or "#10-32" (case, spaces and quote marks
    /// do not matter); 0 when the standards' tables do not have it.
    /// </summary>
    public static double PitchMm(string designation)
    {
        string name = Simplify(designation);
        for (int i = 0; i < _metricNames.Length; i++)
        {
            if (Simplify(_metricNames[i]) == name || Simplify(CoarseInFull(i)) == name)
            {
                return _metricPitchMicrometres[i] / 1000.0;
            }
        }

        for (int i = 0; i < _inchSizes.Length; i++)
        {
            if (_inchSizes[i] + "-" + _coarsePerInch[i] == name)
            {
                return 25.4 / _coarsePerInch[i];
            }

            if (_inchSizes[i] + "-" + _finePerInch[i] == name)
            {
                return 25.4 / _finePerInch[i];
            }
        }

        return 0;
    }

    /// <summary>Threads to the inch when the pitch is 25.4 mm by an integer number of them, 1 to 1000; else 0. Only
    /// that fraction is exact: most inch pitches have no finite decimal.</summary>
    public static int PerInch(double pitchMm)
    {
        double threads = 25.4 / pitchMm;
        int whole = 1 <= threads && threads <= 1000 ? (int)(threads + 0.5) : 0;
        double rest = threads - whole;
        return -1e-9 < rest && rest < 1e-9 ? whole : 0;
    }

    /// <summary>Every designation that <see cref="PitchMm"/> knows, in one line for an error message.</summary>
    public static string KnownDesignations()
    {
        string all = string.Empty;
        for (int i = 0; i < _metricNames.Length; i++)
        {
            all += _metricNames[i] + " ";
        }

        for (int i = 0; i < _inchSizes.Length; i++)
        {
            all += _inchSizes[i] + "-" + _coarsePerInch[i] + " " + _inchSizes[i] + "-" + _finePerInch[i] + " ";
        }

        return all.Trim();
    }

    // A coarse thread is also written with its pitch: M6x1.
    private static string CoarseInFull(int i)
    {
        if (_metricNames[i].IndexOf('x') >= 0)
        {
            return _metricNames[i];
        }

        int micrometres = _metricPitchMicrometres[i];
        string fraction = (1000 + (micrometres % 1000)).ToString().Substring(1).TrimEnd('0');
        return _metricNames[i] + "x" + (micrometres / 1000) + (fraction.Length == 0 ? string.Empty : "." + fraction);
    }

    private static string Simplify(string designation)
    {
        string simple = string.Empty;
        string lower = designation.ToLower();
        for (int i = 0; i < lower.Length; i++)
        {
            char c = lower[i];
            if (c != ' ' && c != '#' && c != '"' && c != '\'')
            {
                simple += c == '×' ? 'x' : c;
            }
        }

        string[] suffixes = { "unc", "unf", "in" };
        for (int i = 0; i < suffixes.Length; i++)
        {
            if (simple.Length > 3 && simple.Substring(simple.Length - suffixes[i].Length) == suffixes[i])
            {
                simple = simple.Substring(0, simple.Length - suffixes[i].Length);
            }
        }

        return simple;
    }
}
