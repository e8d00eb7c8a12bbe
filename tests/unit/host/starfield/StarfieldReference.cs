// Shared by the starfield tests: the outside tables, a plain scene, and the Python judge that may be missing.

using System.Diagnostics;
using System.Globalization;
using System.Text.Json;
using Hourhinge.Starfield.Scenes;
using Hourhinge.Tests.Support;

namespace Hourhinge.Tests.Host.Starfield;

internal static class StarfieldReference
{
    public static readonly DateTime Evening = new(2027, 3, 4, 20, 0, 0, DateTimeKind.Utc);

    public static string Folder
    {
        get
        {
            DirectoryInfo? at = new(AppContext.BaseDirectory);
            while (at is not null && !File.Exists(Path.Combine(at.FullName, "Hourhinge.slnx")))
            {
                at = at.Parent;
            }

            return Path.Combine(at!.FullName, "tests", "reference", "starfield");
        }
    }

    /// <summary>Rows of a table in tests/reference/starfield, by column name.</summary>
    public static List<Dictionary<string, double>> Table(string name)
    {
        string[] lines = File.ReadAllLines(Path.Combine(Folder, name)).Where(l => !l.StartsWith('#')).ToArray();
        string[] columns = lines[0].Split(',');
        return lines.Skip(1).Select(line => columns.Zip(line.Split(','))
            .ToDictionary(p => p.First, p => double.Parse(p.Second, CultureInfo.InvariantCulture))).ToList();
    }

    public static Scene Scene(int width = 600, int height = 400) => new()
    {
        StartUtc = Evening,
        Site = new SimulatedSite(47, 11),
        Mount = HingeMount.Stopped,
        Pointing = Pointing.AtHourAngle(-20, 30),
        Lens = new Lens(50, 2.8),
        Sensor = new Sensor(width, height, 3.9) { HotPixelShare = 0 },
        Refraction = null,
        Stars = Array.Empty<SimulatedStar>(),
    };

    /// <summary>Runs a script of the reference folder and reads its JSON; skips, loudly, where it cannot run.</summary>
    public static JsonElement Judge(string script, params string[] arguments)
    {
        string? python = PythonInterpreter.With("astropy, PIL");
        Skip.If(python == null,
            "SKIPPED: no python3 has python3-astropy and python3-pil (or set HOURHINGE_PYTHON); files were NOT checked "
            + "by an outside reader.");
        var start = new ProcessStartInfo(python!) { RedirectStandardOutput = true, RedirectStandardError = true };
        start.ArgumentList.Add(Path.Combine(Folder, script));
        foreach (string a in arguments)
        {
            start.ArgumentList.Add(a);
        }

        using Process process = Process.Start(start)!;
        Task<string> errors = process.StandardError.ReadToEndAsync();
        string output = process.StandardOutput.ReadToEnd();
        process.WaitForExit();
        Assert.True(process.ExitCode == 0, errors.Result);
        return JsonDocument.Parse(output).RootElement.Clone();
    }
}
