using System.Reflection;
using Hourhinge.Firmware.Control;
using Hourhinge.Tests.Firmware.Logic.Control;
using Hourhinge.Tests.Support;
using Microsoft.CodeAnalysis;
using Microsoft.CodeAnalysis.CSharp;
using Mono.Cecil;
using Mono.Cecil.Cil;
using Xunit.Abstractions;

namespace Hourhinge.Tests.Firmware;

/// <summary>The device assemblies pass the gate, and a bad assembly of each kind does not.</summary>
public class NanoGateTests(ITestOutputHelper output)
{
    public static TheoryData<string, string> BadCode => new()
    {
        { "class Bad<T> { }", "generic type: Bad" },
        { "class Bad { static void M<T>() { } }", "generic method: " },
        { "class G<T> { public T F; } class Bad { object M() => new G<int>(); }", "generic type in use: " },
        { "class B { public static void G<T>() { } } class Bad { void M() => B.G<int>(); }", "generic method call: " },
        { "class Bad { int[,] F; }", "multi-dimensional array: " },
        { "class Bad { object M() => new int[2, 3]; }", "multi-dimensional array: " },
        { "class Bad { int M(int a) => checked(a + 1); }", "checked arithmetic (add.ovf): " },
        { "class Bad { int M(int a) => checked(a * a - 1); }", "checked arithmetic (mul.ovf): " },
        { "class Bad { int M(long a) => checked((int)a); }", "checked arithmetic (conv.ovf.i4): " },
        { "class Bad { unsafe int M() { int* p = stackalloc int[4]; return p[0]; } }", "stackalloc: " },
        { "class Bad { unsafe byte M(byte[] b) { fixed (byte* p = b) { return *p; } } }", "fixed pointer: " },
        { "interface Bad { int M() => 1; }", "default interface method: " },
        { "class Bad { bool M(double a) => a > 1; }", "comparison that is true for NaN on the device (cgt)" },
        { "class Bad { bool M(double a) => a >= 1; }", "comparison that is true for NaN on the device (clt.un)" },
        { "class Bad { float F; int M(int a) { if (F > a) { return 1; } return 0; } }", "comparison that is true for" },
        { "class Bad { int M(double[] a) { int i = 0; while (a[i] * 2 > 1) { i++; } return i; } }", "comparison that" },
        { "class Bad { bool M(int a, double b) => (a > 0 ? b : 1) >= a; }", "comparison that is true for NaN" },
        { "class Bad { System.Text.StringBuilder F; }", "type missing on the device: System.Text.StringBuilder" },
        { "class Bad { int M() => System.Environment.TickCount; }", "type missing on the device: System.Environment" },
    };

    [Theory]
    [MemberData(nameof(BadCode))]
    public void A_bad_assembly_of_each_kind_is_refused_for_that_reason(string source, string reason)
    {
        // Code that the device's own mscorlib cannot even compile is compiled against the desktop's.
        bool onDevice = TryCompile(source, true, out ModuleDefinition? module);
        Assert.True(onDevice || TryCompile(source, false, out module), source);
        Assert.Contains(
            NanoGate.Refusals(module!, Libraries()),
            refusal => refusal.StartsWith(reason, StringComparison.Ordinal));
    }

    [Fact]
    public void A_member_that_the_real_mscorlib_lacks_is_refused()
    {
        Assert.True(TryCompile("class Bad { void M() { } }", true, out ModuleDefinition? module));
        TypeReference text = module!.TypeSystem.String;
        MethodReference missing = new("Replace", text, text) { HasThis = true };
        missing.Parameters.Add(new ParameterDefinition(text));
        missing.Parameters.Add(new ParameterDefinition(text));
        Mono.Cecil.Cil.MethodBody body = module.GetType("Bad").Methods.Single(m => m.Name == "M").Body;
        body.GetILProcessor().InsertBefore(body.Instructions[0], Instruction.Create(OpCodes.Call, missing));
        using MemoryStream stream = new();
        module.Write(stream);
        stream.Position = 0;
        Assert.Contains(
            "member missing on the device: System.String System.String::Replace(System.String,System.String)",
            NanoGate.Refusals(ModuleDefinition.ReadModule(stream), Libraries()));
    }

    [Fact]
    public void Harmless_code_passes()
    {
        const string Source =
            "interface I { long M(long[][] a); } class Good : I { public long M(long[][] a) => unchecked(a[0][0] * "
            + "3); bool L(double a) => a < 1 || !(a <= 2) || 3 < a; int G(long a, double b) { if (b < 1) { return 0; } "
            + "return (b <= a ? 1 : 2) > a ? 3 : 4; } bool N(double b, int a) => a > (int)b; }";
        Assert.True(TryCompile(Source, true, out ModuleDefinition? module));
        Assert.Empty(NanoGate.Refusals(module!, Libraries()));
    }

    [Theory]
    [InlineData("void Pass() { Helper(); } void Helper() { long x = (long)(2.5 * F); } long F;")]
    [InlineData("void Pass() { object o = Rate; } static double Rate;")]
    [InlineData("Base B; void Pass() { B.Go(); } } class Base { public virtual void Go() { } } class Sub : Base { "
        + "float f; public override void Go() { f = 1; } ")]
    [InlineData("I B; void Pass() { B.Go(); } } interface I { void Go(); } class Imp : I { public void Go() { double "
        + "d = 1; d.ToString(); } ")]
    [InlineData("void Pass() { int i = S.X; } } static class S { public static int X; static S() { X = "
        + "(int)System.Math.Sin(1); } ")]
    public void Floating_point_anywhere_below_the_pass_is_refused(string members)
    {
        Assert.True(TryCompile("class Controller { " + members + " }", true, out ModuleDefinition? module), members);
        Assert.NotEmpty(MotionPath.FromMethod([module!], "Controller", "Pass").Refusals);
    }

    [Fact]
    public void Floating_point_beside_the_motion_path_is_allowed()
    {
        const string Source = "class Controller { int F; void Pass() { F++; } double Report() => F * 0.5; }";
        Assert.True(TryCompile(Source, true, out ModuleDefinition? module));
        Assert.Empty(MotionPath.FromMethod([module!], "Controller", "Pass").Refusals);
    }

    [Fact]
    public void Every_device_assembly_passes_the_gate()
    {
        DeviceLibraries libraries = Libraries();
        string[] paths = [.. DeviceAssemblies()];
        foreach (string path in paths)
        {
            using ModuleDefinition module = ModuleDefinition.ReadModule(path);
            IReadOnlyCollection<string> refusals = NanoGate.Refusals(module, libraries);
            output.WriteLine(
                $"{Path.GetRelativePath(RepositoryFile.Root, path)}: {module.GetTypes().Count()} types, "
                + $"{refusals.Count} refusals");
            Assert.True(refusals.Count == 0, string.Join('\n', refusals));
        }

        Assert.Contains(paths, path => Path.GetFileName(path) == "Hourhinge.SharedMath.dll");
        Assert.Contains(paths, path => Path.GetFileName(path) == "Hourhinge.Firmware.dll");
        bool boardExists = Directory.EnumerateFiles(RepositoryFile.Path("firmware/board"), "*.csproj",
            SearchOption.AllDirectories).Any();
        Assert.True(!boardExists || paths.Length > 2,
            "firmware/board has a project but no compiled assembly: build it first");
    }

    [Fact]
    public void The_motion_path_has_no_floating_point()
    {
        ModuleDefinition[] modules =
        [
            .. DeviceAssemblies()
                .Where(path => Path.GetFileName(path) is "Hourhinge.SharedMath.dll" or "Hourhinge.Firmware.dll")
                .Select(path => ModuleDefinition.ReadModule(path)),
        ];
        (IReadOnlyCollection<string> refusals, int methods) =
            MotionPath.FromMethod(modules, typeof(Controller).FullName!, nameof(Controller.Update));
        output.WriteLine($"{methods} methods below Controller.Update");
        Assert.True(refusals.Count == 0, string.Join('\n', refusals));
        Assert.True(methods > 40, $"only {methods} methods found below Controller.Update");
    }

    private static string Mscorlib()
    {
        string root = typeof(NanoGateTests).Assembly.GetCustomAttributes<AssemblyMetadataAttribute>()
            .Single(a => a.Key == "NuGetPackageRoot").Value!;
        string version = File.ReadLines(RepositoryFile.Path("Directory.Packages.props"))
            .Single(line => line.Contains("\"nanoFramework.CoreLibrary\"", StringComparison.Ordinal)).Split('"')[3];
        return Path.Combine(root, "nanoframework.corelibrary", version, "lib", "mscorlib.dll");
    }

    // The newest build of each: logic and shared-math by their nano projects, and the board when it is there.
    private static IEnumerable<string> DeviceAssemblies()
    {
        string[] folders = ["shared-math/nano/bin", "firmware/logic/nano/bin", "firmware/board"];
        return folders.Select(RepositoryFile.Path).Where(Directory.Exists)
            .SelectMany(folder => Directory.EnumerateFiles(folder, "Hourhinge.*.dll", SearchOption.AllDirectories))
            .Where(path => path.Contains($"{Path.DirectorySeparatorChar}bin{Path.DirectorySeparatorChar}",
                StringComparison.Ordinal))
            .GroupBy(Path.GetFileName)
            .Select(group => group.MaxBy(File.GetLastWriteTimeUtc)!);
    }

    private static DeviceLibraries Libraries()
    {
        IEnumerable<string> beside = DeviceAssemblies()
            .SelectMany(path => Directory.EnumerateFiles(Path.GetDirectoryName(path)!, "*.dll"))
            .GroupBy(Path.GetFileName)
            .Select(group => group.MaxBy(File.GetLastWriteTimeUtc)!);
        return new DeviceLibraries(Mscorlib(), beside);
    }

    private static bool TryCompile(string source, bool onDevice, out ModuleDefinition? module)
    {
        string[] references = onDevice
            ? [Mscorlib(), Directory.EnumerateFiles(RepositoryFile.Path("shared-math/nano/bin"), "System.Math.dll",
                SearchOption.AllDirectories).First()]
            : ((string)AppContext.GetData("TRUSTED_PLATFORM_ASSEMBLIES")!).Split(Path.PathSeparator)
                .Where(path => Path.GetFileName(path) is "System.Runtime.dll" or "System.Private.CoreLib.dll")
                .ToArray();
        CSharpCompilation compilation = CSharpCompilation.Create(
            "Bad",
            [CSharpSyntaxTree.ParseText(source)],
            references.Select(path => MetadataReference.CreateFromFile(path)),
            new CSharpCompilationOptions(OutputKind.DynamicallyLinkedLibrary, allowUnsafe: true));
        MemoryStream stream = new();
        bool good = compilation.Emit(stream).Success;
        stream.Position = 0;
        module = good ? ModuleDefinition.ReadModule(stream) : null;
        return good;
    }
}
