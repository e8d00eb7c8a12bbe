namespace Hourhinge.DeviceTests.Runtime;

/// <summary>firmware/board together with the stand-ins of tests/device/board.</summary>
internal static class BoardProgram
{
    /// <summary>Compiles it around a statement.</summary>
    public static DeviceProgram Compile(string statement)
    {
        DeviceProgram device = new(true);
        string root = NanoRuntime.Root;
        device.AddLibrary("Hourhinge.Board",
            Directory.EnumerateFiles(Path.Combine(root, "firmware/board"), "*.cs")
                .Concat(Directory.EnumerateFiles(Path.Combine(root, "tests/device/board"), "*.cs")));
        device.Compile(DeviceProgram.Entry("", ExampleProfiles.All, statement));
        return device;
    }
}
