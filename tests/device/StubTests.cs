using Hourhinge.DeviceTests.Runtime;
using Mono.Cecil;
using Xunit.Abstractions;

namespace Hourhinge.DeviceTests;

/// <summary>Our signature stubs against the assemblies of the public packages.</summary>
public sealed class StubTests(ITestOutputHelper output)
{
    private static readonly string[] _packages =
    [
        "Iot.Device.Button", "System.Device.Adc", "System.Device.Gpio", "System.Device.Pwm", "System.IO.FileSystem",
        "System.IO.Ports", "System.IO.Streams", "System.Math", "nanoFramework.Hardware.Esp32",
    ];

    [SkippableFact]
    public void Every_public_member_of_a_stub_stands_in_the_package()
    {
        NanoRuntime.RequireOrSkip();
        int members = 0;
        List<string> missing = [];
        foreach (string package in _packages)
        {
            using ModuleDefinition stub = ModuleDefinition.ReadModule(
                NanoRuntime.DeviceAssembly("firmware/api-stubs/" + package, package));
            using ModuleDefinition real =
                ModuleDefinition.ReadModule(Path.Combine(NanoRuntime.Folder, "packages", package + ".dll"));
            foreach (TypeDefinition type in stub.Types.Where(t => t.IsPublic))
            {
                TypeDefinition? found = real.GetType(type.FullName);
                HashSet<string> there = found == null ? [] : [.. Members(found)];
                foreach (string member in Members(type))
                {
                    members++;
                    if (!there.Contains(member))
                    {
                        missing.Add($"{package}: {type.FullName}: {member}");
                    }
                }
            }
        }

        output.WriteLine($"{members} members compared, {missing.Count} missing");
        Assert.True(missing.Count == 0, string.Join('\n', missing));
        Assert.True(members > 200);
    }

    [SkippableFact]
    public void The_board_compiles_against_the_packages_themselves()
    {
        NanoRuntime.RequireOrSkip();
        using DeviceProgram device = new(false);
        device.CompileOnly("Hourhinge.Board",
            Directory.EnumerateFiles(Path.Combine(NanoRuntime.Root, "firmware/board"), "*.cs"),
            Directory.EnumerateFiles(Path.Combine(NanoRuntime.Folder, "packages"), "*.dll"));
    }

    [SkippableFact]
    public void The_loop_that_a_maker_flashes_compiles_and_runs()
    {
        NanoRuntime.RequireOrSkip();
        using DeviceProgram device = new(false);
        device.AddLibrary("BoardLoop", [Path.Combine(NanoRuntime.Root, "tests/device/board-loop/BoardLoop.cs")]);
        device.Compile(DeviceProgram.Entry("", [], "BoardLoop.Measure();"));
        string line = Assert.Single(device.Run(30_000));
        output.WriteLine(line);
        Assert.Matches("^1000000 turns in [0-9]+ ms", line);
    }

    // Public and protected members; constants with their values.
    private static IEnumerable<string> Members(TypeDefinition type) =>
        type.Fields.Where(f => f.IsPublic || f.IsFamily)
            .Select(f => f.FullName + (f.HasConstant ? " = " + f.Constant : ""))
            .Concat(type.Methods.Where(m => (m.IsPublic || m.IsFamily) && !m.IsConstructor)
                .Select(m => m.FullName + (m.IsStatic ? " static" : "") + Defaults(m)))
            .Concat(type.Methods.Where(m => m.IsPublic && m.IsConstructor && !type.IsAbstract && m.HasParameters)
                .Select(m => m.FullName + Defaults(m)));

    private static string Defaults(MethodDefinition method) =>
        string.Concat(method.Parameters.Where(p => p.HasConstant).Select(p => $" {p.Index}={p.Constant}"));
}
