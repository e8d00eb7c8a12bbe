using System.Collections.Concurrent;
using System.Globalization;
using System.Text.Json;
using System.Text.RegularExpressions;
using Hourhinge.Tests.Host.Schemas;
using Xunit.Abstractions;

namespace Hourhinge.Tests.Host.App.Campaigns;

/// <summary>Every command on generated rigs of every kind: it answers, or refuses in one sentence.
/// HOURHINGE_MATRIX=2000 for 2 000 rigs.</summary>
public sealed partial class RigMatrixCampaign(ITestOutputHelper output)
{
    private readonly ConcurrentQueue<string> _wrong = [];
    private readonly ConcurrentDictionary<string, int> _answers = new(StringComparer.Ordinal);

    [Fact]
    public void Every_command_answers_on_every_kind_of_rig()
    {
        int count = int.Parse(Environment.GetEnvironmentVariable("HOURHINGE_MATRIX") ?? "20",
            CultureInfo.InvariantCulture);
        // A stride without a common factor with the number of kinds: a few rigs are spread over all choices.
        int stride = count < GeneratedRig.Kinds ? 31 : 1;
        Parallel.For(0, count, new ParallelOptions { MaxDegreeOfParallelism = Environment.ProcessorCount }, (i, loop) =>
        {
            string folder = Directory.CreateTempSubdirectory("matrix-").FullName;
            new Runs(this, new GeneratedRig(i * stride), folder).RunAll(i % 50 == 0);
            Directory.Delete(folder, recursive: true);
            if (_wrong.Count >= 20)
            {
                loop.Stop();
            }
        });

        foreach ((string what, int times) in _answers.OrderBy(a => a.Key, StringComparer.Ordinal))
        {
            output.WriteLine($"{what}: {times}");
        }

        Assert.True(_wrong.IsEmpty, string.Join("\n", _wrong));
        Assert.True(_answers["rig check: exit code 0"] > count * 0.8, "most rigs are sound");
    }

    private static string? JsonProblem(string verb, string text)
    {
        try
        {
            string name = verb.Replace(' ', '-');
            string problems = SchemaTests.Problems(name, text);
            // Readings of a motor without an encoder have a schema of their own.
            return problems.Length == 0 || (name == "calibrate-turns"
                && SchemaTests.Problems("calibrate-turns-motor", text).Length == 0)
                ? null
                : $"by its schema: {problems}";
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

    [GeneratedRegex(@"\d+(\.\d+)?")]
    private static partial Regex Numbers();

    // All commands on one rig, in a folder of its own.
    private sealed class Runs(RigMatrixCampaign campaign, GeneratedRig rig, string folder)
    {
        public void RunAll(bool alsoAsProcess)
        {
            string file = Path.Combine(folder, "rig.toml");
            File.WriteAllText(file, rig.Text);
            string turns = Written("turns.csv", "minutes,nut_turns\n" + string.Concat(Enumerable.Range(0, 8).Select(i =>
                string.Create(CultureInfo.InvariantCulture, $"{i * 2},{i * 2.1:0.###}\n"))));
            string rod = Written("rod.csv", "rod_mm,angle_deg\n35,6.9\n45,8.9\n55,10.9\n65,12.9\n75,15.0\n");
            Run(["rig", "check", file], alsoAsProcess);
            Run(["rig", "check", file, "--json"]);
            Run(["profile", file, "--json"], alsoAsProcess);
            Run(["profile", file, "--csv"]);
            RunWithFile("page.html", f => ["profile", file, "--html", f]);
            RunWithFile("plot.svg", f => ["profile", file, "--plot", f]);
            Run(["budget", file, "--json", "--dec", "0"], alsoAsProcess);
            RunWithFile("plot.png", f => ["budget", file, "--plot", f]);
            RunWithFile("page.html", f => ["budget", file, "--html", f]);
            Run(["night", "--rig", file, "--target", "M42", "--date", "2026-01-10", "--json"], alsoAsProcess);
            RunWithFile("page.html", f => ["night", "--rig", file, "--target", "M42", "--date", "2026-01-10", "--html",
                f]);
            Run(["rehearse", file, "--minutes", "1", "--pass", "5", "--json"], alsoAsProcess);
            RunWithFile("page.html", f => ["rehearse", file, "--minutes", "1", "--pass", "5", "--html", f]);
            RunWithFile("plot.svg", f => ["rehearse", file, "--minutes", "1", "--pass", "5", "--radius-error", "1",
                "--plot", f]);
            Run(["calibrate", "turns", file, "--data", turns, "--json"]);
            Run(["calibrate", "turns", file, "--data", turns, "--write"]);
            Run(["calibrate", "rod", file, "--data", rod, "--json"]);
            Run(["calibrate", "stars", file, folder, "--dec", "0", "--hour-angle", "0"]);
            Run(["upload", file, "--to", "tcp:127.0.0.1:1"]);
        }

        private string Written(string name, string text)
        {
            string file = Path.Combine(folder, name);
            File.WriteAllText(file, text);
            return file;
        }

        private void RunWithFile(string name, Func<string, string[]> args)
        {
            string file = Path.Combine(folder, name);
            File.Delete(file);
            Run(args(file));
            if (File.Exists(file) && new FileInfo(file).Length == 0)
            {
                campaign._wrong.Enqueue($"{rig.Kind}: {string.Join(' ', args(file))}: an empty file");
            }
        }

        private void Run(string[] args, bool alsoAsProcess = false)
        {
            (int code, string text, string error) = Tool.Run(args);
            string verb = args[0] is "rig" or "calibrate" ? $"{args[0]} {args[1]}" : args[0];
            string key = $"{verb}: exit code {code}";
            campaign._answers.AddOrUpdate(key, 1, (_, times) => times + 1);
            if (code == 2 && verb == "rig check" && !args.Contains("--json"))
            {
                string reason = Numbers()
                    .Replace(error[(error.LastIndexOf(".toml", StringComparison.Ordinal) + 5)..], "#");
                campaign._answers.AddOrUpdate($"refused: {reason.Trim(':', ' ', '\n')}", 1, (_, times) => times + 1);
            }

            string? problem = code is < 0 or > 3 ? $"exit code {code}"
                : (text + error).Contains("   at Hourhinge", StringComparison.Ordinal) ? "a trace"
                : code < 2 && text.Length == 0 ? "no answer"
                : code >= 2 && error.Trim().Contains('\n', StringComparison.Ordinal) ? "more than one sentence"
                : args.Contains("--json") && code < 2 ? JsonProblem(verb, text)
                : null;
            if (alsoAsProcess && problem == null && Tool.RunAsProcess(Tool.Root, args).Code is int real && real != code)
            {
                problem = $"exit code {code} in process, {real} as a process";
            }

            if (problem != null)
            {
                campaign._wrong.Enqueue($"{rig.Kind}: {string.Join(' ', args)}: {problem}: {error}\n{Details(error)}");
            }

            if (Directory.EnumerateFiles(folder, ".hourhinge-*").Any())
            {
                campaign._wrong.Enqueue($"{rig.Kind}: {string.Join(' ', args)}: a temporary file is left");
            }
        }
    }
}
