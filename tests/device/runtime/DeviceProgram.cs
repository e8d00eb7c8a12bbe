// Compiles a program from source against the real CoreLibrary and runs it on the runtime.

using System.Collections.Concurrent;
using System.Globalization;
using System.Text;
using Microsoft.CodeAnalysis;
using Microsoft.CodeAnalysis.CSharp;
using Microsoft.CodeAnalysis.Emit;

namespace Hourhinge.DeviceTests.Runtime;

/// <summary>One program for the device: libraries, which are compiled and converted once for all tests, and an entry
/// point, in a folder of its own until it is disposed.</summary>
internal sealed class DeviceProgram : IDisposable
{
    private static readonly CSharpParseOptions _options =
        new(LanguageVersion.CSharp13, preprocessorSymbols: ["DEBUG", "NANOFRAMEWORK"]);

    private static readonly string _shared = SharedFolder();
    private static readonly ConcurrentDictionary<string, Lazy<string>> _libraries = new();

    private readonly string _folder = Directory.CreateTempSubdirectory("hourhinge-device").FullName;
    private readonly List<string> _loaded = [];
    private readonly List<string> _references = [];
    private readonly bool _withPins;

    /// <summary>Prepares the libraries.</summary>
    /// <param name="withPins">True for the runtime with pretended pins and counters, which also has the GPIO and
    /// button packages.</param>
    public DeviceProgram(bool withPins)
    {
        _withPins = withPins;
        string core = NanoRuntime.CoreLibrary;
        _references.Add(Path.Combine(core, "mscorlib.dll"));
        _references.Add(Path.Combine(NanoRuntime.Folder, "packages", "System.Math.dll"));
        _loaded.Add(Path.Combine(core, "mscorlib.pe"));
        _loaded.Add(Path.Combine(NanoRuntime.Folder, "System.Math.pe"));
        if (withPins)
        {
            foreach (string name in new[] { "nanoFramework.Runtime.Events", "System.Device.Gpio", "Iot.Device.Button" })
            {
                _references.Add(Path.Combine(NanoRuntime.Folder, "packages", name + ".dll"));
                _loaded.Add(Path.Combine(NanoRuntime.Folder, "board", name + ".pe"));
            }
        }

        AddLibrary("Hourhinge.SharedMath", path =>
            File.Copy(NanoRuntime.DeviceAssembly("shared-math/nano", "Hourhinge.SharedMath"), path));
        AddLibrary("Hourhinge.Firmware", path =>
            File.Copy(NanoRuntime.DeviceAssembly("firmware/logic/nano", "Hourhinge.Firmware"), path));
    }

    /// <summary>Sizes of the converted assemblies, bytes, by name.</summary>
    public Dictionary<string, long> PeBytes { get; } = [];

    /// <summary>Adds C# files as a library; the first program that asks for it compiles and converts it.</summary>
    public void AddLibrary(string name, IEnumerable<string> files) => AddLibrary(name,
        path => Emit(path, files.Select(Parse), _references, OutputKind.DynamicallyLinkedLibrary));

    /// <summary>Compiles and converts the entry point.</summary>
    public void Compile(string entry)
    {
        string path = Path.Combine(_folder, "Entry.dll");
        Emit(path, [CSharpSyntaxTree.ParseText(entry, _options)], _references, OutputKind.ConsoleApplication);
        _loaded.Add(NanoRuntime.Convert(path, _references));
    }

    /// <summary>Compiles C# files against further assemblies, without converting or running them.</summary>
    public void CompileOnly(string name, IEnumerable<string> files, IEnumerable<string> packages) =>
        Emit(Path.Combine(_folder, name + ".dll"), files.Select(Parse),
            _references.Concat(packages).DistinctBy(Path.GetFileName), OutputKind.ConsoleApplication);

    /// <summary>Runs it and returns its lines. The full size may take ten times as long.</summary>
    public string[] Run(int timeoutMs, string? button = null) =>
        NanoRuntime.Run(_withPins, _loaded, NanoRuntime.IsFullSize ? 10 * timeoutMs : timeoutMs, button);

    /// <summary>An entry point that sets the inputs, runs a statement and prints the end mark.</summary>
    public static string Entry(string usings, byte[][] profiles, string statement)
    {
        StringBuilder text = new();
        text.Append(usings).Append("\npublic static class DeviceEntry\n{\n");
        for (int i = 0; i < profiles.Length; i++)
        {
            text.Append("    static readonly byte[] P").Append(i).Append(" = { ")
                .AppendJoin(", ", profiles[i].Select(b => b.ToString(CultureInfo.InvariantCulture))).Append(" };\n");
        }

        string list = string.Join(", ", Enumerable.Range(0, profiles.Length).Select(i => "P" + i));
        text.Append("    static readonly byte[][] Profiles = new byte[][] { ").Append(list).Append(" };\n")
            .Append("    public static void Main()\n    {\n        System.Diagnostics.Debug.WriteLine(\"")
            .Append(NanoRuntime.StartMark).Append("\");\n        try { ").Append(statement)
            .Append(" }\n        catch (System.Exception e)\n        {\n")
            .Append("            System.Diagnostics.Debug.WriteLine(\"EXCEPTION \" + e.GetType().FullName + \" \" + ")
            .Append("e.Message + e.StackTrace);\n        }\n")
            .Append("        System.Diagnostics.Debug.WriteLine(\"").Append(NanoRuntime.EndMark)
            .Append("\");\n    }\n}\n");
        return text.ToString();
    }

    public void Dispose() => Directory.Delete(_folder, true);

    private static SyntaxTree Parse(string file) =>
        CSharpSyntaxTree.ParseText(File.ReadAllText(file), _options, file);

    private static void Emit(
        string path, IEnumerable<SyntaxTree> trees, IEnumerable<string> references, OutputKind kind)
    {
        CSharpCompilation compilation = CSharpCompilation.Create(Path.GetFileNameWithoutExtension(path), trees,
            references.Select(r => MetadataReference.CreateFromFile(r)),
            new CSharpCompilationOptions(kind, optimizationLevel: OptimizationLevel.Release));
        EmitResult result = compilation.Emit(path);
        if (!result.Success)
        {
            throw new InvalidOperationException(string.Join('\n',
                result.Diagnostics.Where(d => d.Severity == DiagnosticSeverity.Error).Take(10)));
        }
    }

    // Each library is made once, by whoever asks first.
    private void AddLibrary(string name, Action<string> make)
    {
        string path = Path.Combine(_shared, name + ".dll");
        string pe = _libraries.GetOrAdd(name, _ => new Lazy<string>(() =>
        {
            make(path);
            return NanoRuntime.Convert(path, _references);
        })).Value;
        _references.Add(path);
        _loaded.Add(pe);
        PeBytes[name] = new FileInfo(pe).Length;
    }

    private static string SharedFolder()
    {
        string folder = Directory.CreateTempSubdirectory("hourhinge-device").FullName;
        AppDomain.CurrentDomain.ProcessExit += (_, _) => Directory.Delete(folder, true);
        return folder;
    }
}
