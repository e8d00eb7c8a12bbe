using System.Diagnostics;
using System.IO.Compression;
using System.Runtime.InteropServices;
using System.Text.Json;
using Hourhinge.Tests.Support;

namespace Hourhinge.Tests.Host;

/// <summary>The tool that `dotnet pack host/app` makes: installed without a network and run in an empty
/// folder.</summary>
public sealed class InstallTests : IDisposable
{
    private readonly string _folder = Directory.CreateTempSubdirectory("hourhinge-install-").FullName;

    public void Dispose() => Directory.Delete(_folder, true);

    [Fact]
    public void The_packed_tool_rehearses_from_an_empty_folder()
    {
        string feed = Path.Combine(_folder, "feed");
        // What the tests themselves run is packed: the same content, without a second build.
        string configuration = AppContext.BaseDirectory.Contains("Release", StringComparison.Ordinal)
            ? "Release"
            : "Debug";
        Run("dotnet", RepositoryFile.Root, "pack", "host/app", "-c", configuration, "-o", feed, "-v", "q",
            "--no-build", "-m:1");
        string package = Assert.Single(Directory.GetFiles(feed, "*.nupkg"));
        using (ZipArchive zip = ZipFile.OpenRead(package))
        {
            string[] names = [.. zip.Entries.Select(e => e.FullName)];
            Assert.Contains("tools/net10.0/any/THIRD-PARTY-NOTICES.txt", names);
            Assert.Contains("tools/net10.0/any/LICENSE", names);
            Assert.Equal(["linux-arm64", "linux-x64", "osx", "osx-arm64", "unix", "win", "win-x64"],
                names.Where(n => n.Contains("/runtimes/", StringComparison.Ordinal)).Select(n => n.Split('/')[4])
                    .Distinct().Order(StringComparer.Ordinal));
            Assert.DoesNotContain(names, n => n.EndsWith(".pdb", StringComparison.Ordinal)
                || n.EndsWith(".resources.dll", StringComparison.Ordinal));
            Assert.InRange(new FileInfo(package).Length, 1_000_000, 30_000_000);
        }

        File.WriteAllText(Path.Combine(_folder, "nuget.config"), $"""
            <configuration><packageSources><clear /><add key="feed" value="{feed}" /></packageSources></configuration>
            """);
        string tools = Path.Combine(_folder, "tools");
        Run("dotnet", _folder, "tool", "install", "Hourhinge", "--tool-path", tools);

        string empty = Directory.CreateDirectory(Path.Combine(_folder, "empty")).FullName;
        string program = Path.Combine(tools, OperatingSystem.IsWindows() ? "hourhinge.exe" : "hourhinge");
        Run(program, empty, "rig", "new", "my-rig.toml", "--form", "bent-rod");
        string rig = Path.Combine(empty, "my-rig.toml");
        File.WriteAllText(rig, File.ReadAllText(rig).Replace("#home = false", "home = true", StringComparison.Ordinal));
        string output = Run(program, empty, "rehearse", "my-rig.toml", "--minutes", "3", "--json", "--plot",
            "error.png");
        JsonElement json = JsonDocument.Parse(output).RootElement;
        Assert.Equal("TRACKING", json.GetProperty("final_state").GetString());
        Assert.InRange(json.GetProperty("peak_arcsec").GetDouble(), 0.001, 1);
        // The plot needs the native library of this machine.
        Assert.True(new FileInfo(Path.Combine(empty, "error.png")).Length > 1000);
    }

    private string Run(string program, string workingFolder, params string[] args)
    {
        var start = new ProcessStartInfo(program, args)
        {
            RedirectStandardOutput = true,
            RedirectStandardError = true,
            WorkingDirectory = workingFolder,
        };
        // What the runner of the tests has set would reach the nested build.
        foreach (string name in start.Environment.Keys
            .Where(k => k.StartsWith("MSBUILD", StringComparison.OrdinalIgnoreCase)).ToArray())
        {
            start.Environment.Remove(name);
        }

        start.Environment["DOTNET_ROOT"] =
            Path.GetFullPath(Path.Combine(RuntimeEnvironment.GetRuntimeDirectory(), "..", "..", ".."));
        if (args[0] == "tool")
        {
            start.Environment["NUGET_PACKAGES"] = Path.Combine(_folder, "packages");
        }

        using Process process = Process.Start(start)!;
        Task<string> error = process.StandardError.ReadToEndAsync();
        string output = process.StandardOutput.ReadToEnd();
        process.WaitForExit();
        Assert.True(process.ExitCode == 0,
            $"{program} {string.Join(' ', args)}: {process.ExitCode}\n{output}{error.Result}");
        return output;
    }
}
