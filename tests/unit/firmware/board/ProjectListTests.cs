// The .nfproj files build the image that runs and cannot be built here; these tests keep them honest.

using System.Diagnostics;
using System.Text.Json;
using System.Xml.Linq;
using Hourhinge.Tests.Support;
using Mono.Cecil;

namespace Hourhinge.Tests.Firmware.Board;

public sealed class ProjectListTests
{
    private static readonly string _root = RepositoryFile.Root;

    [Theory]
    [InlineData("shared-math/Hourhinge.SharedMath.nfproj", "shared-math/Hourhinge.SharedMath.csproj")]
    [InlineData("shared-math/Hourhinge.SharedMath.nfproj", "shared-math/nano/Hourhinge.SharedMath.Nano.csproj")]
    [InlineData("firmware/logic/Hourhinge.Firmware.nfproj", "firmware/logic/Hourhinge.Firmware.csproj")]
    [InlineData("firmware/logic/Hourhinge.Firmware.nfproj", "firmware/logic/nano/Hourhinge.Firmware.Nano.csproj")]
    [InlineData("firmware/board/Hourhinge.Board.nfproj", "firmware/board/Hourhinge.Board.csproj")]
    public void Both_project_files_compile_the_same_files(string nfproj, string csproj)
    {
        string[] device = CompiledFiles(Path.Combine(_root, nfproj));
        Assert.NotEmpty(device);
        Assert.Equal(CompiledFiles(Path.Combine(_root, csproj)), device);
    }

    [Fact]
    public void A_file_that_only_one_project_sees_is_noticed()
    {
        string folder = Directory.CreateTempSubdirectory("hourhinge-lists").FullName;
        try
        {
            File.WriteAllText(Path.Combine(folder, "One.cs"), "");
            Directory.CreateDirectory(Path.Combine(folder, "deeper"));
            File.WriteAllText(Path.Combine(folder, "deeper", "Two.cs"), "");
            string project = "<Project><ItemGroup><Compile Include=\"{0}\" /></ItemGroup></Project>";
            File.WriteAllText(Path.Combine(folder, "flat.proj"),
                project.Replace("{0}", "*.cs", StringComparison.Ordinal));
            File.WriteAllText(Path.Combine(folder, "all.proj"),
                project.Replace("{0}", "**/*.cs", StringComparison.Ordinal));
            Assert.NotEqual(
                CompiledFiles(Path.Combine(folder, "flat.proj")), CompiledFiles(Path.Combine(folder, "all.proj")));
        }
        finally
        {
            Directory.Delete(folder, true);
        }
    }

    [Theory]
    [InlineData("shared-math/Hourhinge.SharedMath.nfproj")]
    [InlineData("firmware/logic/Hourhinge.Firmware.nfproj")]
    [InlineData("firmware/board/Hourhinge.Board.nfproj")]
    public void Every_package_of_a_device_project_has_its_version_in_packages_config(string nfproj)
    {
        string[] restored = XDocument.Load(Path.Combine(_root, "firmware/board/packages.config")).Root!.Elements()
            .Select(e => (string)e.Attribute("id")! + "." + (string)e.Attribute("version")!).ToArray();
        string project = Path.Combine(_root, nfproj);
        XElement[] references = XDocument.Load(project).Descendants()
            .Where(e => e.Name.LocalName == "Reference").ToArray();
        Assert.NotEmpty(references);
        foreach (XElement reference in references)
        {
            string hint = reference.Elements().Single(e => e.Name.LocalName == "HintPath").Value.Replace('\\', '/');
            string[] parts = Path.GetRelativePath(
                _root, Path.GetFullPath(Path.Combine(Path.GetDirectoryName(project)!, hint))).Split('/', '\\');
            Assert.Equal("packages", parts[0]);
            Assert.Contains(parts[1], restored);
            Assert.Equal((string)reference.Attribute("Include")! + ".dll", parts[^1]);
        }
    }

    [Fact]
    public void The_stub_table_names_the_versions_that_the_device_projects_ask_for()
    {
        string readme = File.ReadAllText(Path.Combine(_root, "firmware/api-stubs/README.md"));
        foreach (XElement package in
            XDocument.Load(Path.Combine(_root, "firmware/board/packages.config")).Root!.Elements())
        {
            string row = readme.Split('\n').Single(l => l.StartsWith(
                "| " + (string)package.Attribute("id")! + " |", StringComparison.Ordinal));
            Assert.Contains("| " + (string)package.Attribute("version")! + " |", row, StringComparison.Ordinal);
        }
    }

    [Fact]
    public void Every_assembly_that_the_compiled_board_refers_to_is_named_by_its_device_project()
    {
        string board = Newest("firmware/board/bin", "Hourhinge.Board.dll");
        using AssemblyDefinition assembly = AssemblyDefinition.ReadAssembly(board);
        string[] named = XDocument.Load(Path.Combine(_root, "firmware/board/Hourhinge.Board.nfproj")).Descendants()
            .Where(e => e.Name.LocalName is "Reference" or "ProjectReference")
            .Select(e => ((string)e.Attribute("Include")!).Replace('\\', '/'))
            .Select(i => i.EndsWith(".nfproj", StringComparison.Ordinal) ? Path.GetFileNameWithoutExtension(i) : i)
            .ToArray();
        string[] used = assembly.MainModule.AssemblyReferences.Select(r => r.Name).ToArray();
        Assert.Contains("System.Device.Pwm", used); // The check has something to check.
        Assert.Empty(used.Except(named));
    }

    private static string Newest(string folder, string file) =>
        Directory.GetFiles(Path.Combine(_root, folder), file, SearchOption.AllDirectories)
            .OrderByDescending(File.GetLastWriteTimeUtc).First();

    // MSBuild's own answer, not ours: evaluation only, nothing is built.
    private static string[] CompiledFiles(string project)
    {
        ProcessStartInfo start = new("dotnet", ["msbuild", project, "-getItem:Compile", "-nologo"])
        {
            RedirectStandardOutput = true,
        };
        using Process process = Process.Start(start)!;
        string answer = process.StandardOutput.ReadToEnd();
        process.WaitForExit();
        Assert.True(process.ExitCode == 0, answer);
        using JsonDocument json = JsonDocument.Parse(answer);
        return json.RootElement.GetProperty("Items").GetProperty("Compile").EnumerateArray()
            .Select(i => i.GetProperty("FullPath").GetString()!)
            .Select(p => Path.GetFullPath(p))
            .Order(StringComparer.Ordinal).ToArray();
    }
}
