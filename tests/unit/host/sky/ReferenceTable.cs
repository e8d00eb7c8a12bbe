// Reads the committed tables of tests/reference/sky; made by make_reference.py there, which names ERFA's version.
using System.Globalization;

using Hourhinge.Numerics;
using Hourhinge.Sky.Places;
using Hourhinge.Sky.Time;

namespace Hourhinge.Tests.Host.Sky;

internal sealed class ReferenceRow(Dictionary<string, int> columns, string[] cells)
{
    public string Text(string column) => cells[columns[column]];

    public double Number(string column) => double.Parse(Text(column), CultureInfo.InvariantCulture);

    public Angle Degrees(string column) => Angle.FromDegrees(Number(column));

    public Instant Time(string column = "utc") => Instant.FromUtc(
        DateTimeOffset.Parse(Text(column), CultureInfo.InvariantCulture, DateTimeStyles.AssumeUniversal));

    public DateOnly Date() => DateOnly.ParseExact(Text("date"), "yyyy-MM-dd", CultureInfo.InvariantCulture);

    public Site Site() => Hourhinge.Sky.Places.Site.FromDegrees(Number("lat_deg"), Number("lon_deg"));
}

internal static class ReferenceTable
{
    public static IReadOnlyList<ReferenceRow> Read(string name)
    {
        string[] lines = File.ReadAllLines(Path.Combine(Folder(), name)).Where(l => !l.StartsWith('#')).ToArray();
        var columns = lines[0].Split(',').Select((c, i) => (c, i)).ToDictionary(p => p.c, p => p.i);
        return lines.Skip(1).Select(l => new ReferenceRow(columns, l.Split(','))).ToList();
    }

    private static string Folder()
    {
        for (var folder = new DirectoryInfo(AppContext.BaseDirectory); folder != null; folder = folder.Parent)
        {
            if (File.Exists(Path.Combine(folder.FullName, "Hourhinge.slnx")))
            {
                return Path.Combine(folder.FullName, "tests", "reference", "sky");
            }
        }

        throw new DirectoryNotFoundException("tests/reference/sky was not found above the test assembly.");
    }
}
