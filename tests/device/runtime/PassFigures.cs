// The counters of a run of the board's passes.

using System.Globalization;
using System.Text.RegularExpressions;

namespace Hourhinge.DeviceTests.Runtime;

/// <summary>What the runtime counted between two marks of tests/device/board/PassScenario.cs.</summary>
internal sealed class PassFigures
{
    private static readonly Lazy<PassFigures> _measured = new(() =>
    {
        using DeviceProgram device = BoardProgram.Compile($"PassScenario.Run(P2, {PassesLeft});");
        return new PassFigures(device.Run(100_000), device.PeBytes);
    });

    // 98800: together with those before it 100 000 passes of tracking, 1000 s.
    private static int PassesLeft => NanoRuntime.IsFullSize ? 98800 : 18800;

    private PassFigures(string[] lines, Dictionary<string, long> peBytes)
    {
        Lines = lines;
        PeBytes = peBytes;
    }

    /// <summary>The lines printed.</summary>
    public string[] Lines { get; }

    /// <summary>Sizes of the converted assemblies, bytes.</summary>
    public Dictionary<string, long> PeBytes { get; }

    /// <summary>Runs the passes, once for all tests.</summary>
    public static PassFigures Measure() => _measured.Value;

    /// <summary>A counter of the stretch that ended at a mark.</summary>
    public long Of(string mark, string counter)
    {
        string line = Lines.Single(l => l.StartsWith("S " + mark + " ", StringComparison.Ordinal));
        return long.Parse(Regex.Match(line, $@"\b{counter}=(\d+)").Groups[1].Value, CultureInfo.InvariantCulture);
    }
}
