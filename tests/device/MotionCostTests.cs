using Hourhinge.DeviceTests.Runtime;
using Xunit.Abstractions;

namespace Hourhinge.DeviceTests;

/// <summary>
/// The measured part of firmware/MOTION-COST.md. HOURHINGE_WRITE_DOCUMENTS=1 writes it; otherwise it is compared.
/// </summary>
public sealed class MotionCostTests(ITestOutputHelper output)
{
    private const string Begin = "<!-- measured: begin -->", End = "<!-- measured: end -->";

    [SkippableFact]
    public void The_notes_hold_the_figures_of_the_runtime()
    {
        NanoRuntime.RequireOrSkip();
        string path = Path.Combine(NanoRuntime.Root, "firmware", "MOTION-COST.md");
        string notes = File.ReadAllText(path);
        string[] rows = Rows(PassFigures.Measure());
        foreach (string row in rows)
        {
            output.WriteLine(row);
        }

        int from = notes.IndexOf(Begin, StringComparison.Ordinal) + Begin.Length;
        int to = notes.IndexOf(End, StringComparison.Ordinal);
        if (Environment.GetEnvironmentVariable("HOURHINGE_WRITE_DOCUMENTS") == "1")
        {
            File.WriteAllText(path, notes[..from] + "\n" + string.Join('\n', rows) + "\n" + notes[to..]);
            return;
        }

        // Counts are the same on every machine; they may change by 5 % with the code before the notes are wrong. Times
        // and their ratios depend on what else the machine does: they are written, and not compared.
        string[] told = [.. notes[from..to].Split('\n').Where(line => line.StartsWith('|'))];
        Assert.Equal(rows.Length, told.Length);
        foreach ((string row, string was) in rows.Zip(told).Skip(2))
        {
            double now = Number(row);
            bool isTime = row.Contains("turns of the plain loop |", StringComparison.Ordinal)
                || row.Contains(" here,", StringComparison.Ordinal);
            double off = isTime ? double.PositiveInfinity : 0.05 * now;
            Assert.True(Math.Abs(now - Number(was)) <= 2 + off, $"the notes say {was}, now {row}");
        }
    }

    private static double Number(string row) => double.Parse(row.Split('|')[2]);

    private static string[] Rows(PassFigures f)
    {
        double perTurn = f.Of("LOOP", "il") / 1e6;
        double turnNs = f.Of("LOOP", "cpu_ns") / 1e6;
        return
        [
            "| what | figure |",
            "|---|---|",
            $"| .pe of shared-math, bytes | {f.PeBytes["Hourhinge.SharedMath"]} |",
            $"| .pe of the logic, bytes | {f.PeBytes["Hourhinge.Firmware"]} |",
            $"| live heap after boot, bytes of a 64-bit build (a module: about half) | "
                + $"{f.Of("GBOOT", "used") - f.Of("GEMPTY", "used")} |",
            $"| live heap with a profile, the same unit | {f.Of("GPROFILE", "used") - f.Of("GEMPTY", "used")} |",
            $"| instructions of one turn of the plain loop | {perTurn:0} |",
            $"| idle pass, instructions | {f.Of("IDLE", "il") / 1000} |",
            $"| idle pass, calls | {f.Of("IDLE", "calls") / 1000} |",
            $"| tracking pass, instructions | {f.Of("TRACKING", "il") / 1000} |",
            $"| tracking pass, calls | {f.Of("TRACKING", "calls") / 1000} |",
            $"| objects allocated in 1000 tracking passes | {f.Of("TRACKING", "allocs")} |",
            $"| tracking pass with the pulse train, instructions | {f.Of("TRAIN", "il") / 1000} |",
            $"| tracking pass with the pulse train, calls | {f.Of("TRAIN", "calls") / 1000} |",
            $"| objects allocated in 1000 passes with the pulse train | {f.Of("TRAIN", "allocs")} |",
            $"| compile of an example rig, instructions | {f.Of("COMPILE", "il")} |",
            $"| one turn of the plain loop here, ns | {turnNs:0} |",
            $"| idle pass, turns of the plain loop | {f.Of("IDLE", "cpu_ns") / 1000 / turnNs:0} |",
            $"| tracking pass, turns of the plain loop | {f.Of("TRACKING", "cpu_ns") / 1000 / turnNs:0} |",
            $"| tracking pass with the pulse train, turns of the plain loop | "
                + $"{f.Of("TRAIN", "cpu_ns") / 1000 / turnNs:0} |",
            $"| compile of an example rig here, ms | {f.Of("COMPILE", "cpu_ns") / 1e6:0} |",
            $"| compile of an example rig, turns of the plain loop | {f.Of("COMPILE", "cpu_ns") / turnNs:0} |",
        ];
    }
}
