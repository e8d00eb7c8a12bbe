// The small tables that come with the program: deep-sky targets and bright stars. Sources: data/README.md.
using System.Globalization;
using System.Reflection;
using Hourhinge.Numerics;
using Hourhinge.Sky.Bodies;
using Hourhinge.Sky.Places;

namespace Hourhinge.Sky.Planning;

/// <summary>A nebula, cluster or galaxy.</summary>
/// <param name="Id">Messier number, or the designation it is best known by.</param>
/// <param name="OtherId">A second designation, or empty.</param>
/// <param name="Name">Common name, or empty.</param>
/// <param name="Kind">Nebula, galaxy, open cluster and so on, in words.</param>
/// <param name="Constellation">IAU abbreviation.</param>
/// <param name="J2000">Mean place, within about 1 arcmin.</param>
/// <param name="Magnitude">Integrated visual magnitude, or null for nebulae without a meaningful one.</param>
/// <param name="MajorAxis">Long diameter.</param>
/// <param name="MinorAxis">Short diameter.</param>
public sealed record DeepSkyObject(
    string Id, string OtherId, string Name, string Kind, string Constellation, Equatorial J2000, double? Magnitude,
    Angle MajorAxis, Angle MinorAxis)
{
    public CataloguePlace Place => new CataloguePlace(J2000);

    /// <summary>For framing: a circle around it.</summary>
    public FramedTarget Framed => new FramedTarget(J2000, MajorAxis);
}

/// <summary>A star for orientation; unnamed ones have empty texts.</summary>
public sealed record BrightStar(
    string Name, string Designation, string Constellation, CataloguePlace Place, double Magnitude);

/// <summary>The tables, read once from the assembly.</summary>
public static class Catalogue
{
    private static readonly Lazy<IReadOnlyList<DeepSkyObject>> _deepSkyTable =
        new(() => Read("deep-sky.csv", ToDeepSky));

    private static readonly Lazy<IReadOnlyList<BrightStar>> _starTable = new(() => Read("bright-stars.csv", ToStar));

    public static IReadOnlyList<DeepSkyObject> DeepSky => _deepSkyTable.Value;

    /// <summary>Brightest first; not complete (see data/README.md).</summary>
    public static IReadOnlyList<BrightStar> Stars => _starTable.Value;

    /// <summary>Finds a deep-sky object by designation or common name, case and spaces aside.</summary>
    /// <returns>Null where nothing or more than one object matches.</returns>
    public static DeepSkyObject? FindDeepSky(string text)
    {
        string key = Key(text);
        if (key.Length == 0)
        {
            return null;
        }

        return DeepSky.FirstOrDefault(o => Key(o.Id) == key || Key(o.OtherId) == key || Key(o.Name) == key)
            ?? Only(DeepSky.Where(o => key.Length >= 4 && Key(o.Name).Contains(key, StringComparison.Ordinal)));
    }

    /// <summary>Finds a star by name or designation ("Vega", "alpha Lyr").</summary>
    public static BrightStar? FindStar(string text)
    {
        string key = Key(text);
        return key.Length == 0 ? null : Stars.FirstOrDefault(s => Key(s.Name) == key || Key(s.Designation) == key);
    }

    private static DeepSkyObject? Only(IEnumerable<DeepSkyObject> found)
    {
        DeepSkyObject[] few = found.Take(2).ToArray();
        return few.Length == 1 ? few[0] : null;
    }

    private static string Key(string text) =>
        new string(text.Where(char.IsLetterOrDigit).Select(char.ToUpperInvariant).ToArray());

    private static List<T> Read<T>(string resource, Func<string[], T> parse)
    {
        using Stream stream = Assembly.GetExecutingAssembly().GetManifestResourceStream(resource)
            ?? throw new InvalidOperationException($"The table {resource} is missing from the assembly.");
        using var reader = new StreamReader(stream);
        var rows = new List<T>();
        bool headerSeen = false;
        while (reader.ReadLine() is { } line)
        {
            if (line.StartsWith('#'))
            {
                continue;
            }

            if (headerSeen)
            {
                rows.Add(parse(line.Split(',')));
            }

            headerSeen = true;
        }

        return rows;
    }

    private static DeepSkyObject ToDeepSky(string[] c) => new DeepSkyObject(
        c[0], c[1], c[2], c[3], c[4],
        new Equatorial(Angle.FromHours(Sexagesimal(c[5])), Angle.FromDegrees(Sexagesimal(c[6]))),
        c[7].Length == 0 ? null : Number(c[7]), Angle.FromArcminutes(Number(c[8])), Angle.FromArcminutes(Number(c[9])));

    private static BrightStar ToStar(string[] c) => new BrightStar(
        c[0], c[1], c[2], new CataloguePlace(
            new Equatorial(Angle.FromDegrees(Number(c[3])), Angle.FromDegrees(Number(c[4]))),
            Number(c[6]), Number(c[7])),
        Number(c[5]));

    private static double Sexagesimal(string text)
    {
        string[] parts = text.TrimStart('+', '-').Split(':');
        double size = Number(parts[0]) + (Number(parts[1]) / 60);
        return text.StartsWith('-') ? -size : size;
    }

    private static double Number(string text) => double.Parse(text, CultureInfo.InvariantCulture);
}
