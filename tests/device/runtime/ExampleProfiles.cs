// What the programs work on: the example rigs, compiled by the host.

using Hourhinge.Rig;

namespace Hourhinge.DeviceTests.Runtime;

/// <summary>Profiles as they are uploaded.</summary>
internal static class ExampleProfiles
{
    /// <summary>The example rigs in the order of their names, and the DC one again without its encoder.</summary>
    public static byte[][] All { get; } = Compile();

    private static byte[][] Compile()
    {
        string[] files = [.. Directory.EnumerateFiles(Path.Combine(NanoRuntime.Root, "host", "examples"), "*.toml")
            .Order(StringComparer.Ordinal)];
        string dc = File.ReadAllText(files.Single(f => f.Contains("dc-encoder", StringComparison.Ordinal)))
            .Replace("\"dc-encoder\"", "\"dc\"", StringComparison.Ordinal)
            .Replace("counts_per_turn = 12", "", StringComparison.Ordinal);
        return [.. files.Select(File.ReadAllText).Append(dc)
            .Select((text, i) => RigDrive.Compile(RigReader.Read("example " + i, text), 0).Bytes)];
    }
}
