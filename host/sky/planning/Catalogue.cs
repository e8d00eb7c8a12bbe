// The tables of names that come with the program: deep-sky targets and stars. Sources: data/README.md.
using System.Globalization;
using System.IO.Compression;
using System.Reflection;
using Hourhinge.Numerics;
using Hourhinge.Sky.Bodies;
using Hourhinge.Sky.Places;
using Hourhinge.Sky.Stars;

namespace Hourhinge.Sky.Planning;

/// <summary>A nebula, cluster or galaxy.</summary>
/// <param name="Id">Messier number, or the designation it is best known by.</param>
/// <param name="OtherId">A second designation, or empty.</param>
/// <param name="Name">Common name, or empty; others are <see cref="OtherNames"/>.</param>
/// <param name="Kind">Nebula, galaxy, open cluster and so on, in words.</param>
/// <param name="Constellation">IAU abbreviation.</param>
/// <param name="J2000">Mean place; accuracy: data/README.md.</param>
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

/// <summary>A star with a name or a designation; the other one may be empty.</summary>
public sealed record BrightStar(
    string Name, string Designation, string Constellation, CataloguePlace Place, double Magnitude);

/// <summary>The tables, read once from the assembly.</summary>
public static class Catalogue
{
    private static readonly Lazy<IReadOnlyList<DeepSkyObject>> _deepSkyTable =
        new(() => Read("deep-sky.csv.gz", ToDeepSky));

    private static readonly Lazy<IReadOnlyList<BrightStar>> _starTable = new(() => Read("star-names.csv", ToStar));

    // The first object in the table wins, as Messier objects come first.
    private static readonly Lazy<Dictionary<string, DeepSkyObject>> _deepSkyByKey = new(() =>
    {
        var found = new Dictionary<string, DeepSkyObject>();
        foreach (DeepSkyObject o in DeepSky)
        {
            foreach (string name in o.AllNames)
            {
                found.TryAdd(TargetName.Key(name), o);
            }
        }

        return found;
    });

    public static IReadOnlyList<DeepSkyObject> DeepSky => _deepSkyTable.Value;

    /// <summary>Stars with a name or a designation, brightest first.</summary>
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

        return _deepSkyByKey.Value.GetValueOrDefault(key)
            ?? Only(DeepSky.Where(o => key.Length >= 4 && o.Name.Length > 0 && Contains(o, key)));
    }

    /// <summary>Finds a star by name or designation ("Vega", "alpha Lyr", "α Lyrae").</summary>
    public static BrightStar? FindStar(string text)
    {
        string key = TargetName.Key(text);
        return key.Length == 0
            ? null
            : Stars.FirstOrDefault(s => TargetName.Key(s.Name) == key || TargetName.Key(s.Designation) == key)
                // "alpha Cen" is the brightest of alpha1 and alpha2.
                ?? Stars.FirstOrDefault(s => TargetName.WithoutComponent(s.Designation) is { Length: > 0 } pair
                    && (pair == key || key.StartsWith(pair, StringComparison.Ordinal)))
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

        IEnumerable<string> parts = key.Length >= 4
            ? DeepSky.Where(o => o.Name.Length > 0 && Contains(o, key)).Select(o => o.Name) : [];
        // A mistyped number is another object, so only objects with a name are near a text.
        IEnumerable<string> near = DeepSky.Where(o => o.Name.Length > 0).SelectMany(o => o.AllNames)
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
        using Stream plain = resource.EndsWith(".gz", StringComparison.Ordinal)
            ? new GZipStream(stream, CompressionMode.Decompress) : stream;
        using var reader = new StreamReader(plain);
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
        new Equatorial(Angle.FromDegrees(Number(c[5])), Angle.FromDegrees(Number(c[6]))),
        c[7].Length == 0 ? null : Number(c[7]), Angle.FromArcminutes(Number(c[8])), Angle.FromArcminutes(Number(c[9])))
    {
        OtherNames = [.. c[2].Split(';').Skip(1)],
    };

    private static BrightStar ToStar(string[] c)
    {
        CatalogueStar star =
            StarCatalogue.Stars[StarCatalogue.IndexOfHip(int.Parse(c[0], CultureInfo.InvariantCulture))];
        return new BrightStar(c[1], c[2], c[3], new CataloguePlace(Equatorial.FromVector(star.Direction)),
            star.Magnitude);
    }

    private static double Number(string text) => double.Parse(text, CultureInfo.InvariantCulture);
}
