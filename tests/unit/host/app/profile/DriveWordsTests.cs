namespace Hourhinge.Tests.Host.App.Profile;

/// <summary>A DC motor makes no microsteps: no text and no page about it speaks of them.</summary>
public class DriveWordsTests
{
    [Theory]
    [InlineData("dc-encoder", "encoder count")]
    [InlineData("dc", "count")]
    public void Commands_name_what_the_drive_counts(string kind, string expected)
    {
        string folder = Directory.CreateTempSubdirectory("hourhinge-words-").FullName;
        try
        {
            string rig = Path.Combine(folder, "rig.toml");
            File.WriteAllLines(rig, File.ReadLines(Tool.Example("bent-m6-dc-encoder"))
                .Where(l => kind == "dc-encoder" || !l.StartsWith("counts_per_turn", StringComparison.Ordinal))
                .Select(l => l.StartsWith("kind =", StringComparison.Ordinal) ? $"kind = \"{kind}\"" : l));
            string page = Path.Combine(folder, "page.html");
            foreach (string[] args in new[] { (string[])["profile", rig], ["budget", rig],
                ["rehearse", rig, "--minutes", "2"] })
            {
                (int code, string text, string error) = Tool.Run([.. args, "--html", page]);
                Assert.True(code < 2, error);
                Assert.DoesNotContain("microstep", text, StringComparison.Ordinal);
                Assert.DoesNotContain("microstep", File.ReadAllText(page), StringComparison.Ordinal);
                Assert.Contains(expected, text, StringComparison.Ordinal);
            }
        }
        finally
        {
            Directory.Delete(folder, true);
        }
    }
}
