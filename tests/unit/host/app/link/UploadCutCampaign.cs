// Uploads whose connection is cut at random. HOURHINGE_CUTS sets their number; 12 by default, 1 000 for the full
// campaign:
//   HOURHINGE_CUTS=1000 dotnet test tests/unit --filter UploadCutCampaign --logger "console;verbosity=detailed"

using System.Diagnostics;
using System.Text.RegularExpressions;
using Hourhinge.Rehearsal.Rig;
using Xunit.Abstractions;

namespace Hourhinge.Tests.Host.App.Link;

/// <summary>What the host says that the controller holds is what it holds.</summary>
public sealed partial class UploadCutCampaign(ITestOutputHelper output)
{
    // An upload sends about 2.5 kB and receives about as much.
    private const int MostBytes = 3000;

    private static int Count =>
        int.TryParse(Environment.GetEnvironmentVariable("HOURHINGE_CUTS"), out int n) ? n : 12;

    [Fact]
    public void What_the_host_says_after_a_cut_is_true()
    {
        using var served = new ServedBoard(20);
        using var proxy = new CuttingProxy(served.Port);
        string[] rigs = [Tool.Example("straight-quarter-twenty"), Tool.Example("bent-m6-geared")];
        var tally = new SortedDictionary<string, int>(StringComparer.Ordinal);
        var watch = Stopwatch.StartNew();
        for (int i = 0; i < Count; i++)
        {
            var random = new Random(i);
            (string Name, long Sequence) before = Held(served);
            proxy.CutNext(1 + random.Next(MostBytes), random.Next(2) == 0,
                random.Next(10) switch { 0 => 9, 1 => 1, _ => 0 });
            string rig = rigs[random.Next(2)];
            (int code, string text, string error) = Tool.Run("upload", rig, "--to", proxy.Port);
            (string Name, long Sequence) after = Held(served);
            string said = text + error;
            string kind = Check(said, code, before, after);
            Assert.True(kind.Length > 0, $"upload {i}: held {before}, holds {after}, the host said ({code}): {said}");
            Assert.DoesNotContain("error of the program", said, StringComparison.Ordinal);
            tally[kind] = tally.GetValueOrDefault(kind) + 1;
        }

        output.WriteLine($"{Count} uploads in {watch.Elapsed.TotalSeconds:0} s, every sentence true: "
            + string.Join(", ", tally.Select(t => $"{t.Value} {t.Key}")));
        Assert.True(tally.Count >= 3, "the cuts did not reach every outcome");
    }

    // The kind of sentence when it is true; empty when it is not.
    private static string Check(string said, int code, (string Name, long Sequence) before,
        (string Name, long Sequence) after)
    {
        bool changed = before != after;
        long told = Number().Match(said) is { Success: true } match ? long.Parse(match.Groups[1].Value) : -1;
        bool isTold = told == after.Sequence && said.Contains(after.Name, StringComparison.Ordinal);
        return said.Contains("is on the controller", StringComparison.Ordinal)
                ? code == 0 && isTold ? changed ? "stored" : "there already" : ""
            : code != 3 ? ""
            : said.Contains("Nothing was sent", StringComparison.Ordinal)
            || said.Contains("cannot connect", StringComparison.Ordinal)
                ? changed ? "" : "nothing sent"
            : said.Contains("still holds the profile it held before", StringComparison.Ordinal)
                ? !changed && isTold ? "unchanged" : ""
            : said.Contains("holds no profile", StringComparison.Ordinal) ? after.Sequence == 0 ? "none" : ""
            : said.Contains("holds the new profile", StringComparison.Ordinal) ? changed && isTold
            ? "stored, with an error" : ""
            : said.Contains("It is not known whether", StringComparison.Ordinal) ? "not known"
            : said.Contains("holds another profile", StringComparison.Ordinal) ? changed && isTold ? "another" : ""
            : said.Contains("the controller hung up", StringComparison.Ordinal) && !changed ? "no connection" : "";
    }

    private static (string Name, long Sequence) Held(ServedBoard served) => served.Inspect((VirtualRig board) =>
        (board.Machine.Store.Profile?.RigName ?? "", board.Machine.Store.Slot < 0 ? 0 : board.Machine.Store.Sequence));

    [GeneratedRegex(@"upload number (\d+)")]
    private static partial Regex Number();
}
