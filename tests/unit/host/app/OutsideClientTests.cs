using System.Diagnostics;
using Hourhinge.Rig;
using Hourhinge.SharedMath.Profile;

namespace Hourhinge.Tests.Host.App;

/// <summary>An instrument client that knows nothing of this project (PyVISA) drives the served controller.</summary>
public class OutsideClientTests
{
    [SkippableFact]
    public void PyVisa_uploads_starts_asks_and_makes_a_mistake()
    {
        Skip.IfNot(HasPyVisa(),
            "SKIPPED, LOUDLY: python3-pyvisa and python3-pyvisa-py are not installed for /usr/bin/python3");
        string profile = Path.GetTempFileName();
        RigDescription rig = RigReader.ReadFile(Tool.Example("bent-m6-geared"), out byte[] file);
        File.WriteAllBytes(profile, RigDrive.Compile(rig, Crc32.Of(file, 0, file.Length)).Bytes);
        using ServedController served = Tool.Serve(Tool.Example("bent-m6-geared"));
        string script = Path.Combine(Tool.Root, "tests", "unit", "host", "outside_client.py");
        (int code, string text) =
            Python(script, served.TcpPort.ToString(System.Globalization.CultureInfo.InvariantCulture), profile);
        Assert.True(code == 0, text);
        Assert.Contains("all checks passed", text, StringComparison.Ordinal);
        File.Delete(profile);
    }

    private static bool HasPyVisa() => File.Exists("/usr/bin/python3")
        && Python("-c", "import pyvisa, pyvisa_py").Code == 0;

    private static (int Code, string Text) Python(params string[] args)
    {
        using Process process = Process.Start(new ProcessStartInfo("/usr/bin/python3", args)
        {
            RedirectStandardOutput = true,
            RedirectStandardError = true,
        })!;
        Task<string> error = process.StandardError.ReadToEndAsync();
        string output = process.StandardOutput.ReadToEnd();
        process.WaitForExit();
        return (process.ExitCode, output + error.Result);
    }
}
