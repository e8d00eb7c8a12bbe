// What one pass of the loop costs in IL instructions, counted, not timed: the figures of firmware/MOTION-COST.md.

using System.Globalization;
using System.Reflection;
using Hourhinge.Firmware.Panel;
using Hourhinge.SharedMath.Profile;
using Hourhinge.SharedMath.Rig;
using Hourhinge.Tests.Firmware.Logic.Drives;
using Hourhinge.Tests.Firmware.Logic.Panel;
using Xunit.Abstractions;

namespace Hourhinge.Tests.Firmware.Logic;

public sealed class PassCostTests(ITestOutputHelper output)
{
    [Fact]
    public void A_pass_costs_no_more_than_the_notes_say()
    {
        string[] lines =
            (string[])InstrumentedLogic.Invoke(typeof(PassCostProbe).FullName!, nameof(PassCostProbe.Measure))!;
        foreach (string line in lines)
        {
            output.WriteLine(line);
        }

        string notes = File.ReadAllText(Path.Combine(ButtonAndLightTests.Root(), "firmware", "MOTION-COST.md"));
        foreach (string line in lines)
        {
            string[] cells = line.Split(" | ");
            string row = notes.Split('\n')
                .FirstOrDefault(l => l.StartsWith("| " + cells[0] + " |", StringComparison.Ordinal))
                ?? throw new InvalidOperationException("not in the notes: " + line);
            int[] told = [.. row.Split('|').Skip(2).Take(2).Select(c => int.Parse(c, CultureInfo.InvariantCulture))];
            int[] found = [.. cells.Skip(1).Select(c => int.Parse(c, CultureInfo.InvariantCulture))];
            Assert.True(found[0] <= 1.05 * told[0] && found[1] <= 1.05 * told[1],
                "the notes say " + row + ", now " + line);
        }
    }
}

/// <summary>Runs against the counting copy of the logic; see <see cref="InstrumentedLogic"/>.</summary>
public static class PassCostProbe
{
    private static readonly FieldInfo? _count =
        typeof(ProfileCodec).Assembly.GetType(InstrumentedLogic.CounterType)?.GetField("Count");

    /// <summary>Rows: what, mean, worst, in IL instructions.</summary>
    public static string[] Measure()
    {
        var lines = new List<string>();
        DriveProfile profile = SiteRigs.Compile(SiteRigs.Short(60));

        SiteBench idle = new(profile);
        lines.Add(Row("idle", 2000, () => idle.Pass(1)));

        SiteBench tracking = new(profile);
        tracking.Gesture(Gesture.Press);
        lines.Add(Row("tracking, stepper, whole pass", 20000, () => tracking.Pass(1)));
        lines.Add(Row("tracking, stepper, motion only", 20000, () =>
        {
            tracking.Controller.Update();
            tracking.Clock.AdvanceTo(tracking.Clock.TrueUs + 1000);
        }));

        foreach (bool counted in new[] { false, true })
        {
            RigParameters fast = SiteRigs.Short(60);
            fast.Values[RigParameters.Microsteps] = 64;
            fast.Values[RigParameters.PullIn] = fast.Values[RigParameters.Rewind] = 11200;
            SiteBench bench = new(SiteRigs.Compile(fast), null, 0, null, 0, counted);
            bench.Gesture(Gesture.Press);
            string how = counted ? "pulse train" : "single pulses";
            lines.Add(Row($"tracking, stepper, 64 microsteps, passes of 10 ms, {how}", 20000, () => bench.Pass(10)));
        }

        RigParameters wavy = SiteRigs.Short(60);
        wavy.Values[RigParameters.Periodic + 1] = 2000;
        SiteBench periodic = new(SiteRigs.Compile(wavy));
        periodic.Gesture(Gesture.Press);
        lines.Add(Row("tracking, stepper, one periodic error", 20000, () => periodic.Pass(1)));

        SiteBench shooting = new(profile);
        shooting.Tell("SHUT:COUN 500;EXP 1;GAP 0.5;SETT 0.2;DITH 3;AUTO 1");
        shooting.Gesture(Gesture.Press);
        lines.Add(Row("tracking, stepper, shutter program", 20000, () => shooting.Pass(1)));

        foreach (bool closed in new[] { true, false })
        {
            DcBench dc = new(closed ? DcFixture.ClosedLoop() : DcFixture.OpenLoop(), closed);
            dc.Start();
            lines.Add(Row(closed ? "tracking, DC closed loop" : "tracking, DC open loop", 20000, () =>
            {
                dc.Machine.Update();
                dc.Clock.AdvanceTo(dc.Clock.TrueUs + 1000);
            }));
        }

        SiteBench noisy = new(profile);
        noisy.Gesture(Gesture.Press);
        byte[] garbage = new byte[64];
        var random = new Random(4);
        lines.Add(Row("tracking, stepper, garbage from the peer", 20000, () =>
        {
            random.NextBytes(garbage);
            noisy.Link.Send(garbage);
            noisy.Pass(1);
            noisy.Link.Receive();
        }));
        return [.. lines];
    }

    private static string Row(string what, int passes, Action pass)
    {
        for (int i = 0; i < 100; i++)
        {
            pass();
        }

        long sum = 0;
        long worst = 0;
        for (int i = 0; i < passes; i++)
        {
            long before = Count();
            pass();
            long cost = Count() - before;
            sum += cost;
            worst = Math.Max(worst, cost);
        }

        return $"{what} | {sum / passes} | {worst}";
    }

    private static long Count() => (long)_count!.GetValue(null)!;
}
