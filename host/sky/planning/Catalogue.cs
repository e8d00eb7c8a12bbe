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
/// <param name="Name">Common name, or empty; others are <see cref="OtherNames"/>.</param>
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

    /// <summary>Further common names.</summary>
    public IReadOnlyList<string> OtherNames { get; init; } = [];

    /// <summary>Designations and names, none of them empty.</summary>
    public IEnumerable<string> AllNames =>
        new[] { Id, OtherId, Name }.Concat(OtherNames).Where(n => n.Length > 0);

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

    /// <summary>Finds a deep-sky object by designation or common name; case, spaces and leading zeros aside ("M 31",
    /// "Messier 31", "ngc0224").</summary>
    /// <returns>Null where nothing or more than one object matches.</returns>
    public static DeepSkyObject? FindDeepSky(string text)
    {
        string key = TargetName.Key(text);
        if (key.Length == 0)
        {
            return null;
        }

        return DeepSky.FirstOrDefault(o => o.AllNames.Any(n => TargetName.Key(n) == key))
            ?? Only(DeepSky.Where(o => key.Length >= 4 && Contains(o, key)));
    }

    /// <summary>Finds a star by name or designation ("Vega", "alpha Lyr", "α Lyrae").</summary>
    public static BrightStar? FindStar(string text)
    {
        string key = TargetName.Key(text);
        return key.Length == 0
            ? null
            : Stars.FirstOrDefault(s => TargetName.Key(s.Name) == key || TargetName.Key(s.Designation) == key)
                // The genitive begins with the abbreviation for most constellations.
                ?? Stars.FirstOrDefault(s => s.Designation.Length > 0
                    && key.StartsWith(TargetName.Key(s.Designation), StringComparison.Ordinal));
    }

    /// <summary>Names in the tables that the text may have meant, best first; at most three.</summary>
    public static IReadOnlyList<string> Suggest(string text)
    {
        string key = TargetName.Key(text);
        if (key.Length < 3)
        {
            return [];
        }

        IEnumerable<string> parts = key.Length >= 4 ? DeepSky.Where(o => Contains(o, key)).Select(o => o.Name) : [];
        IEnumerable<string> near = DeepSky.SelectMany(o => o.AllNames)
            .Concat(Stars.SelectMany(s => new[] { s.Name, s.Designation })).Where(n => n.Length > 0)
            .Select(n => (Name: n, Distance: n.Split(' ').Where(w => w.Length > 4).Append(n)
                .Min(w => TargetName.Distance(key, TargetName.Key(w)))))
            .Where(n => n.Distance <= Math.Max(1, key.Length / 4))
            .OrderBy(n => n.Distance).Select(n => n.Name);
        return [.. parts.Concat(near).Distinct().Take(3)];
    }

    private static bool Contains(DeepSkyObject o, string key) =>
        o.AllNames.Any(n => TargetName.Key(n).Contains(key, StringComparison.Ordinal)
            && !TargetName.IsNumber(TargetName.Key(n)));

    private static DeepSkyObject? Only(IEnumerable<DeepSkyObject> found)
    {
        DeepSkyObject[] few = found.Take(2).ToArray();
        return few.Length == 1 ? few[0] : null;
    }

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
        c[0], c[1], c[2].Split(';')[0], c[3], c[4],
        new Equatorial(Angle.FromHours(Sexagesimal(c[5])), Angle.FromDegrees(Sexagesimal(c[6]))),
        c[7].Length == 0 ? null : Number(c[7]), Angle.FromArcminutes(Number(c[8])), Angle.FromArcminutes(Number(c[9])))
    {
        OtherNames = [.. c[2].Split(';').Skip(1)],
    };

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
