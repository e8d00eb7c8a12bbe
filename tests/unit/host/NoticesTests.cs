using System.Reflection;
using System.Security.Cryptography;
using System.Text;
using System.Text.Json;
using System.Xml.Linq;
using Hourhinge.Tests.Support;

namespace Hourhinge.Tests.Host;

/// <summary>
/// host/THIRD-PARTY-NOTICES.txt, made from the licences in the packages themselves. It goes with the tool and with the
/// self-contained programs.
/// </summary>
public class NoticesTests
{
    private const string Rewrite = "HOURHINGE_WRITE_DOCUMENTS";

    /// <summary>Set the environment variable HOURHINGE_WRITE_DOCUMENTS to 1 to write the file again.</summary>
    [Fact]
    public void The_file_is_what_the_packages_say()
    {
        string file = RepositoryFile.Path("host/THIRD-PARTY-NOTICES.txt");
        if (Environment.GetEnvironmentVariable(Rewrite) == "1")
        {
            File.WriteAllText(file, Text());
        }

        Assert.Equal(Text(), File.ReadAllText(file));
    }

    [Fact]
    public void Every_package_of_the_lock_file_is_listed()
    {
        (string Id, string Version)[] packages = Packages();
        Assert.True(packages.Length > 20, "the packages were not found");
        string[] lines = File.ReadAllLines(RepositoryFile.Path("host/THIRD-PARTY-NOTICES.txt"));
        Assert.All(packages, p => Assert.Contains($"{p.Id} {p.Version}", lines));
    }

    private static string Text()
    {
        var text = new StringBuilder();
        text.Append("Hourhinge contains the packages below. Each is listed with what the package itself states.\n");
        text.Append("A self-contained program also contains .NET: DOTNET-LICENSE.txt and ");
        text.Append("DOTNET-THIRD-PARTY-NOTICES.txt beside it.\n");
        var expressions = new SortedSet<string>(StringComparer.Ordinal);
        var notices = new Dictionary<string, (string Text, List<string> Of)>();
        foreach ((string id, string version) in Packages())
        {
            string folder = Path.Combine(PackageRoot(), id.ToLowerInvariant(), version.ToLowerInvariant());
            XDocument nuspec = XDocument.Load(Path.Combine(folder, id.ToLowerInvariant() + ".nuspec"));
            string Field(string name) =>
                nuspec.Descendants().FirstOrDefault(e => e.Name.LocalName == name)?.Value.Trim() ?? "";
            XElement? licence = nuspec.Descendants().FirstOrDefault(e => e.Name.LocalName == "license");
            string expression = licence?.Attribute("type")?.Value == "expression" ? licence.Value : "";
            if (expression.Length > 0)
            {
                expressions.Add(expression);
            }

            text.Append($"\n{id} {version}\n");
            text.Append(expression.Length > 0 ? $"  Licence: {expression}, text below\n"
                : $"  Licence: {Field("licenseUrl")}; the package does not contain its text\n");
            text.Append($"  Authors: {Field("authors")}\n");
            text.Append(Field("copyright").Length == 0 ? "" : $"  Copyright: {Field("copyright")}\n");
            text.Append(Field("projectUrl").Length == 0 ? "" : $"  Project: {Field("projectUrl")}\n");
            foreach (string file in Directory.EnumerateFiles(folder, "*", SearchOption.AllDirectories)
                .Where(IsNotice).Order(StringComparer.Ordinal))
            {
                string content = File.ReadAllText(file).ReplaceLineEndings("\n").Trim();
                string key = Convert.ToHexString(SHA256.HashData(Encoding.UTF8.GetBytes(content)));
                (notices.TryGetValue(key, out (string Text, List<string> Of) known)
                    ? known : notices[key] = (content, [])).Of.Add(id);
            }
        }

        text.Append(
            "\nd3-celestial 0.7.35 (npm): the tables of stars and objects in host/sky/data are made from its data\n");
        text.Append("  Licence: BSD-3-Clause, text below\n");
        text.Append($"\n{new string('=', 80)}\nLicence of d3-celestial\n\n");
        text.Append(File.ReadAllText(RepositoryFile.Path("host/licences/d3-celestial.txt")).Trim()).Append('\n');
        foreach (string expression in expressions)
        {
            text.Append($"\n{new string('=', 80)}\nLicence {expression}\n\n");
            text.Append(File.ReadAllText(RepositoryFile.Path($"host/licences/{expression}.txt")).Trim()).Append('\n');
        }

        foreach ((string content, List<string> of) in notices.Values)
        {
            text.Append($"\n{new string('=', 80)}\nIn the packages {string.Join(", ", of.Distinct())}:\n\n");
            text.Append(content).Append('\n');
        }

        return text.ToString();
    }

    private static bool IsNotice(string file)
    {
        string name = Path.GetFileName(file);
        return name.EndsWith(".txt", StringComparison.OrdinalIgnoreCase)
            && (name.Contains("LICENSE", StringComparison.OrdinalIgnoreCase)
                || name.Contains("NOTICES", StringComparison.OrdinalIgnoreCase));
    }

    private static (string Id, string Version)[] Packages()
    {
        using JsonDocument locked =
            JsonDocument.Parse(File.ReadAllText(RepositoryFile.Path("host/app/packages.lock.json")));
        return [.. locked.RootElement.GetProperty("dependencies").EnumerateObject()
            .SelectMany(framework => framework.Value.EnumerateObject())
            .Where(p => p.Value.GetProperty("type").GetString() != "Project")
            .Select(p => (p.Name, p.Value.GetProperty("resolved").GetString()!))
            .Distinct().OrderBy(p => p.Name, StringComparer.OrdinalIgnoreCase)];
    }

    private static string PackageRoot() => typeof(NoticesTests).Assembly
        .GetCustomAttributes<AssemblyMetadataAttribute>().First(a => a.Key == "NuGetPackageRoot").Value!;
}
