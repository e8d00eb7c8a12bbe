using System.Diagnostics;
using Hourhinge.DeviceTests.Programs;
using Hourhinge.DeviceTests.Runtime;
using Xunit.Abstractions;

namespace Hourhinge.DeviceTests;

/// <summary>The same source, on the controller's runtime and on .NET, prints the same lines.</summary>
public sealed class EqualLinesTests(ITestOutputHelper output)
{
    [SkippableTheory]
    [InlineData(nameof(ProfileProgram), 500)]
    [InlineData(nameof(CompilerProgram), 200)]
    [InlineData(nameof(SessionProgram), 140)]
    [InlineData(nameof(NightProgram), 170)]
    public void The_runtime_prints_what_dotnet_prints(string program, int minLines)
    {
        NanoRuntime.RequireOrSkip();
        string[] expected = OnDotnet(program);
        Assert.True(expected.Length >= minLines, $"only {expected.Length} lines");
        using DeviceProgram device = new(false);
        device.AddLibrary("Hourhinge.DevicePrograms",
            Directory.EnumerateFiles(Path.Combine(NanoRuntime.Root, "tests/device/programs"), "*.cs"));
        string isFullSize = NanoRuntime.IsFullSize ? "true" : "false";
        device.Compile(DeviceProgram.Entry("using Hourhinge.DeviceTests.Programs;", ExampleProfiles.All,
            $"Inputs.Profiles = Profiles; Inputs.IsFullSize = {isFullSize}; {program}.Run();"));
        Stopwatch watch = Stopwatch.StartNew();
        string[] got = device.Run(300_000);
        int different = expected.Zip(got).Count(pair => pair.First != pair.Second);
        output.WriteLine($"{program}: {expected.Length} lines, {different} differ, {watch.Elapsed.TotalSeconds:0.0} s");
        for (int i = 0; i < Math.Min(expected.Length, got.Length); i++)
        {
            Assert.True(expected[i] == got[i], $"line {i}: .NET\n{expected[i]}\nruntime\n{got[i]}");
        }

        Assert.Equal(expected.Length, got.Length);
        string[] rewinds = [.. expected.Where(l => l.StartsWith("rewind ", StringComparison.Ordinal))];
        Assert.Equal(program == nameof(NightProgram) ? 12 : 0, rewinds.Length);
        Assert.All(rewinds, l => Assert.Contains(" IDLE fault 0 due 0 at 0 ", l, StringComparison.Ordinal));
        string[] cuts = [.. expected.Where(l => l.StartsWith("cut ", StringComparison.Ordinal))];
        Assert.All(cuts, l => Assert.DoesNotContain(" none ", l, StringComparison.Ordinal));
    }

    // One at a time: the programs print into one list.
    private static string[] OnDotnet(string program)
    {
        Out.Lines.Clear();
        Inputs.Profiles = ExampleProfiles.All;
        Inputs.IsFullSize = NanoRuntime.IsFullSize;
        switch (program)
        {
            case nameof(ProfileProgram): ProfileProgram.Run(); break;
            case nameof(CompilerProgram): CompilerProgram.Run(); break;
            case nameof(SessionProgram): SessionProgram.Run(); break;
            default: NightProgram.Run(); break;
        }

        return [.. Out.Lines];
    }
}
