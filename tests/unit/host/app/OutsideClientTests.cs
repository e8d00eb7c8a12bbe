using Hourhinge.Rig;
using Hourhinge.SharedMath.Profile;
using Hourhinge.Tests.Support;

namespace Hourhinge.Tests.Host.App;

/// <summary>PyVISA, a general instrument client, drives the served controller.</summary>
public class OutsideClientTests
{
    [SkippableFact]
    public void PyVisa_uploads_starts_asks_and_makes_a_mistake()
    {
        var python = OutsideProgram.PythonWith("pyvisa", "pyvisa_py");
        python.SkipIfMissing();
        string profile = Path.GetTempFileName();
        RigDescription rig = RigReader.ReadFile(Tool.Example("bent-m6-geared"), out byte[] file);
        File.WriteAllBytes(profile, RigDrive.Compile(rig, Crc32.Of(file, 0, file.Length)).Bytes);
        using ServedController served = Tool.Serve(Tool.Example("bent-m6-geared"));
        string script = RepositoryFile.Path("tests/unit/host/outside_client.py");
        (int code, string text) =
            python.Run(script, served.TcpPort.ToString(System.Globalization.CultureInfo.InvariantCulture), profile,
                RepositoryFile.Path("firmware/PROTOCOL.md"));
        Assert.True(code == 0, text);
        Assert.Contains("all checks passed", text, StringComparison.Ordinal);
        File.Delete(profile);
    }
}
