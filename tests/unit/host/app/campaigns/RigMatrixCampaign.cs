using System.Globalization;
using System.Text.Json;
using Xunit.Abstractions;

namespace Hourhinge.Tests.Host.App.Campaigns;

/// <summary>Every command on generated rigs of every kind: it answers, or refuses in one sentence.
/// HOURHINGE_MATRIX=2000 for 2 000 rigs.</summary>
public sealed class RigMatrixCampaign(ITestOutputHelper output) : IDisposable
{
    private readonly string _folder = Directory.CreateTempSubdirectory("matrix-").FullName;
    private readonly List<string> _wrong = [];
    private readonly SortedDictionary<string, int> _answers = new(StringComparer.Ordinal);

    public void Dispose() => Directory.Delete(_folder, recursive: true);

    [Fact]
    public void Every_command_answers_on_every_kind_of_rig()
    {
        int count = int.Parse(Environment.GetEnvironmentVariable("HOURHINGE_MATRIX") ?? "20",
            CultureInfo.InvariantCulture);
        // A stride without a common factor with the number of kinds: a few rigs are spread over all choices.
        int stride = count < GeneratedRig.Kinds ? 31 : 1;
        for (int i = 0; i < count && _wrong.Count < 20; i++)
        {
            var rig = new GeneratedRig(i * stride);
            RunAll(rig, i % 50 == 0);
        }

        foreach ((string what, int times) in _answers)
        {
            output.WriteLine($"{what}: {times}");
        }

        Assert.True(_wrong.Count == 0, string.Join("\n", _wrong));
        Assert.True(_answers["rig check: exit code 0"] > count * 0.8, "most rigs are sound");
    }

    private void RunAll(GeneratedRig rig, bool alsoAsProcess)
    {
        string file = Path.Combine(_folder, "rig.toml");
        File.WriteAllText(file, rig.Text);
        string turns = Written("turns.csv", "minutes,nut_turns\n" + string.Concat(Enumerable.Range(0, 8).Select(i =>
            string.Create(CultureInfo.InvariantCulture, $"{i * 2},{i * 2.1:0.###}\n"))));
        string rod = Written("rod.csv", "rod_mm,angle_deg\n35,6.9\n45,8.9\n55,10.9\n65,12.9\n75,15.0\n");
        Run(rig, ["rig", "check", file], alsoAsProcess);
        Run(rig, ["rig", "check", file, "--json"]);
        Run(rig, ["profile", file, "--json"], alsoAsProcess);
        Run(rig, ["profile", file, "--csv"]);
        RunWithFile(rig, "page.html", f => ["profile", file, "--html", f]);
        RunWithFile(rig, "plot.svg", f => ["profile", file, "--plot", f]);
        Run(rig, ["budget", file, "--json", "--dec", "0"], alsoAsProcess);
        RunWithFile(rig, "plot.png", f => ["budget", file, "--plot", f]);
        RunWithFile(rig, "page.html", f => ["budget", file, "--html", f]);
        Run(rig, ["night", "--rig", file, "--target", "M42", "--date", "2026-01-10", "--json"], alsoAsProcess);
        RunWithFile(rig, "page.html", f => ["night", "--rig", file, "--target", "M42", "--date", "2026-01-10", "--html",
            f]);
        Run(rig, ["rehearse", file, "--minutes", "1", "--pass", "5", "--json"], alsoAsProcess);
        RunWithFile(rig, "page.html", f => ["rehearse", file, "--minutes", "1", "--pass", "5", "--html", f]);
        RunWithFile(rig, "plot.svg", f => ["rehearse", file, "--minutes", "1", "--pass", "5", "--radius-error", "1",
            "--plot", f]);
        Run(rig, ["calibrate", "turns", file, "--data", turns, "--json"]);
        Run(rig, ["calibrate", "turns", file, "--data", turns, "--write"]);
        Run(rig, ["calibrate", "rod", file, "--data", rod, "--json"]);
        Run(rig, ["calibrate", "stars", file, _folder, "--dec", "0", "--hour-angle", "0"]);
        Run(rig, ["upload", file, "--to", "tcp:127.0.0.1:1"]);
    }

    private string Written(string name, string text)
    {
        string file = Path.Combine(_folder, name);
        File.WriteAllText(file, text);
        return file;
    }

    private void RunWithFile(GeneratedRig rig, string name, Func<string, string[]> args)
    {
        string file = Path.Combine(_folder, name);
        File.Delete(file);
        Run(rig, args(file));
        if (File.Exists(file) && new FileInfo(file).Length == 0)
        {
            _wrong.Add($"{rig.Kind}: {string.Join(' ', args(file))}: an empty file");
        }
    }

    private void Run(GeneratedRig rig, string[] args, bool alsoAsProcess = false)
    {
        (int code, string text, string error) = Tool.Run(args);
        string verb = args[0] is "rig" or "calibrate" ? $"{args[0]} {args[1]}" : args[0];
        string key = $"{verb}: exit code {code}";
        _answers[key] = _answers.GetValueOrDefault(key) + 1;
        string? problem = code is < 0 or > 3 ? $"exit code {code}"
            : (text + error).Contains("   at Hourhinge", StringComparison.Ordinal) ? "a trace"
            : code < 2 && text.Length == 0 ? "no answer"
            : code >= 2 && error.Trim().Contains('\n', StringComparison.Ordinal) ? "more than one sentence"
            : args.Contains("--json") && code < 2 ? JsonProblem(text)
            : null;
        if (alsoAsProcess && problem == null && Tool.RunAsProcess(Tool.Root, args).Code is int real && real != code)
        {
            problem = $"exit code {code} in process, {real} as a process";
        }

        if (problem != null)
        {
            _wrong.Add($"{rig.Kind}: {string.Join(' ', args)}: {problem}: {error}\n{Details(error)}");
        }

        if (Directory.EnumerateFiles(_folder, ".hourhinge-*").Any())
        {
            _wrong.Add($"{rig.Kind}: {string.Join(' ', args)}: a temporary file is left");
        }
    }

    private static string? JsonProblem(string text)
    {
        try
        {
            using var document = JsonDocument.Parse(text);
            return document.RootElement.EnumerateObject().Any() ? null : "an empty JSON object";
        }
        catch (JsonException e)
        {
            return $"no JSON: {e.Message}";
        }
    }

    // An unforeseen error names the file of its details.
    private static string Details(string error)
    {
        int at = error.IndexOf("the details are in ", StringComparison.Ordinal);
        string file = at < 0 ? "" : error[(at + 19)..].Trim().TrimEnd('.');
        return File.Exists(file) ? File.ReadAllText(file) : "";
    }
}
