// All stars of the Hipparcos catalogue, for recognising frames. Names: planning/Catalogue.cs. Source, format and
// accuracy: data/README.md.
using System.Buffers.Binary;
using System.IO.Compression;
using System.Reflection;
using Hourhinge.Numerics;

namespace Hourhinge.Sky.Stars;

/// <summary>A star of the catalogue.</summary>
/// <param name="Hip">Hipparcos number.</param>
/// <param name="Direction">Unit vector, J2000, rounded to 0.0001 degrees; no proper motion.</param>
/// <param name="Magnitude">V.</param>
/// <param name="ColourIndex">B-V; NaN where unknown.</param>
public readonly record struct CatalogueStar(int Hip, Vector3 Direction, double Magnitude, double ColourIndex);

/// <summary>The star catalogue, read once from the assembly. Safe for several threads.</summary>
public static class StarCatalogue
{
    private const double DegreesPerUnit = 1e-4;
    private const int Exception8 = 255;
    private const short Missing = short.MinValue;

    // The catalogue's magnitudes, in hundredths, lie within.
    private const int BrightestStep = -200, FaintestStep = 2000;

    private static readonly Lazy<CatalogueStar[]> _stars = new(Read);

    private static readonly Lazy<Dictionary<int, int>> _indexOfHip = new(() =>
    {
        var index = new Dictionary<int, int>(Stars.Count);
        for (int i = 0; i < Stars.Count; i++)
        {
            index[Stars[i].Hip] = i;
        }

        return index;
    });

    // Count of stars to each hundredth of a magnitude.
    private static readonly Lazy<int[]> _countTo = new(() =>
    {
        int[] counts = new int[FaintestStep - BrightestStep + 1];
        foreach (CatalogueStar star in Stars)
        {
            counts[(int)Math.Round(star.Magnitude * 100) - BrightestStep]++;
        }

        for (int i = 1; i < counts.Length; i++)
        {
            counts[i] += counts[i - 1];
        }

        return counts;
    });

    /// <summary>118 216 stars, brightest first.</summary>
    public static IReadOnlyList<CatalogueStar> Stars => _stars.Value;

    /// <summary>The same without an interface call for each star.</summary>
    public static ReadOnlySpan<CatalogueStar> Span => _stars.Value;

    /// <summary>Index in <see cref="Stars"/> of a Hipparcos number; -1 where the catalogue does not hold it.</summary>
    public static int IndexOfHip(int hip) => _indexOfHip.Value.GetValueOrDefault(hip, -1);

    /// <summary>How many stars are at least as bright as a magnitude: an index behind the last of them.</summary>
    public static int CountTo(double magnitude)
    {
        int[] counts = _countTo.Value;
        // Magnitudes are hundredths; a hair above rounding.
        double step = Math.Floor((magnitude * 100) + 1e-6) - BrightestStep;
        return step < 0 ? 0 : counts[(int)Math.Min(step, counts.Length - 1)];
    }

    private static CatalogueStar[] Read()
    {
        using Stream packed = Assembly.GetExecutingAssembly().GetManifestResourceStream("stars.bin")
            ?? throw new InvalidOperationException("The table stars.bin is missing from the assembly.");
        using var gzip = new GZipStream(packed, CompressionMode.Decompress);
        using var whole = new MemoryStream(1_400_000);
        gzip.CopyTo(whole);
        byte[] data = whole.ToArray();
        int count = BinaryPrimitives.ReadInt32LittleEndian(data.AsSpan(4));
        int at = 8;
        int Column(int bytes)
        {
            int start = at;
            at += bytes * count;
            return start;
        }

        int hips = Column(1), ras = Column(2), decs = Column(4), mags = Column(2), colours = Column(2);
        int exceptions = (data.Length - at) / 4, nextException = 0;
        short Short(int column, int i) => (short)(data[column + i] | (data[column + count + i] << 8));
        int Int(int column, int length, int i) => data[column + i] | (data[column + length + i] << 8)
            | (data[column + (2 * length) + i] << 16) | (data[column + (3 * length) + i] << 24);

        var stars = new CatalogueStar[count];
        int[] keys = new int[count];
        int hip = 0, ra = 0;
        for (int i = 0; i < count; i++)
        {
            int step = data[hips + i];
            hip = step == Exception8 ? Int(at, exceptions, nextException++) : hip + step;
            short turn = Short(ras, i);
            ra = turn == Missing ? Int(at, exceptions, nextException++) : ra + turn;
            short magnitude = Short(mags, i), colour = Short(colours, i);
            stars[i] = new CatalogueStar(hip,
                Vector3.FromSpherical(Angle.FromDegrees(ra * DegreesPerUnit),
                    Angle.FromDegrees(Int(decs, count, i) * DegreesPerUnit)),
                magnitude / 100.0, colour == Missing ? double.NaN : colour / 100.0);
            keys[i] = (magnitude * 131072) + hip;
        }

        Array.Sort(keys, stars);
        return stars;
    }
}
