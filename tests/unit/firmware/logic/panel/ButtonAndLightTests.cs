// One button, one LED: the table in firmware/BUTTON.md is the code's table; every cell is tried on the virtual board;
// the patterns keep what a photographer with dark-adapted eyes wants.

using Hourhinge.Firmware.Control;
using Hourhinge.Firmware.Guards;
using Hourhinge.Firmware.Panel;
using Hourhinge.SharedMath.Profile;

namespace Hourhinge.Tests.Firmware.Logic.Panel;

public sealed class ButtonAndLightTests
{
    private static readonly int[] _gestures = [Gesture.Press, Gesture.Hold, Gesture.DoublePress];

    [Fact]
    public void The_table_in_the_manual_is_the_table_in_the_code()
    {
        var lines = new List<string>
        {
            "| state | press | hold | double press |",
            "|---|---|---|---|",
        };
        for (int row = 0; row < ButtonTable.Rows; row++)
        {
            lines.Add("| " + ButtonWords.RowName(row) + " | "
                + string.Join(" | ", _gestures.Select(g => ButtonWords.ActionName(ButtonTable.Action(row, g)))) + " |");
        }

        string manual = File.ReadAllText(Path.Combine(Root(), "firmware", "BUTTON.md")).ReplaceLineEndings("\n");
        Assert.Contains(string.Join("\n", lines), manual, StringComparison.Ordinal);
    }

    [Fact]
    public void The_patterns_in_the_manual_are_the_patterns_in_the_code()
    {
        string manual = File.ReadAllText(Path.Combine(Root(), "firmware", "BUTTON.md"));
        for (int row = 0; row < ButtonTable.Rows; row++)
        {
            int[] pattern = LedPattern.OfRow(row);
            string line = $"| {ButtonWords.RowName(row)} | {string.Join(" ", pattern)} |";
            Assert.Contains(line, manual, StringComparison.Ordinal);
        }
    }

    public static TheoryData<int, int> EveryCell()
    {
        var cells = new TheoryData<int, int>();
        for (int row = 0; row < ButtonTable.Rows; row++)
        {
            foreach (int gesture in _gestures)
            {
                cells.Add(row, gesture);
            }
        }

        return cells;
    }

    [Theory]
    [MemberData(nameof(EveryCell))]
    public void Every_state_answers_every_gesture_as_the_table_says(int row, int gesture)
    {
        SiteBench bench = InRow(row);
        Assert.Equal(row, ButtonTable.RowOf(bench.Controller));
        long pulses = bench.Motor.Pulses;
        bench.Gesture(gesture);
        int state = bench.Controller.State;
        switch (ButtonTable.Action(row, gesture))
        {
            case ButtonTable.Start:
                Assert.Equal(ControllerState.Tracking, state);
                break;
            case ButtonTable.Stop:
            case ButtonTable.ClearFault:
                Assert.Equal(ControllerState.Idle, state);
                break;
            case ButtonTable.Rewind:
                Assert.Equal(ControllerState.Rewinding, state);
                break;
            default:
                Assert.Equal(row, ButtonTable.RowOf(bench.Controller));
                bool still = row is not (ButtonTable.Tracking or ButtonTable.Rewinding or ButtonTable.Jogging);
                Assert.True(!still || bench.Motor.Pulses == pulses, "moved without a command");
                break;
        }
    }

    [Fact]
    public void Where_nothing_can_rewind_a_hold_declares_the_start()
    {
        var bench = new SiteBench(SiteRigs.Compile(SiteRigs.Short(23, false)), null, null);
        bench.Controller.Fail(Fault.Stall, null);
        bench.Gesture(Gesture.Press);
        Assert.Equal(ButtonTable.PositionUnknown, ButtonTable.RowOf(bench.Controller));
        bench.Gesture(Gesture.Hold);
        Assert.Equal(ButtonTable.Ready, ButtonTable.RowOf(bench.Controller));
        Assert.Equal(0, bench.Controller.Drive.Position);
    }

    [Fact]
    public void Patterns_are_short_dim_and_told_apart()
    {
        for (int row = 0; row < ButtonTable.Rows; row++)
        {
            int[] p = LedPattern.OfRow(row);
            double on = p.Where((_, i) => i % 2 == 0).Sum();
            Assert.True(on / p.Sum() <= 0.05, ButtonWords.RowName(row));
            Assert.All(p.Where((_, i) => i % 2 == 0), ms => Assert.InRange(ms, 10, 200));
            for (int other = 0; other < row; other++)
            {
                bool bothMove = row == ButtonTable.Jogging && other == ButtonTable.Rewinding;
                Assert.True(bothMove || !p.SequenceEqual(LedPattern.OfRow(other)), $"{row} looks like {other}");
            }
        }

        int[] tracking = LedPattern.OfRow(ButtonTable.Tracking);
        Assert.True(tracking[0] / (double)tracking.Sum() <= 0.002);
    }

    [Theory]
    [InlineData(0, "ffffff")]
    [InlineData(7, "ooooooo")]
    [InlineData(30, "ttt")]
    [InlineData(47, "ttttooooooo")]
    [InlineData(123, "httooo")]
    [InlineData(999, "hhhhhhhhhtttttttttooooooooo")]
    public void A_number_is_read_off_the_flashes(int number, string flashes)
    {
        var bench = new SiteBench(null);
        bench.Machine.Light.BlinkNumber(number);
        Assert.Equal(flashes, Read(bench, 45));
    }

    [Fact]
    public void A_double_press_blinks_the_minutes_that_are_left()
    {
        var bench = new SiteBench(SiteRigs.Compile(SiteRigs.Short(55)));
        bench.Gesture(Gesture.DoublePress);
        long minutes = bench.Controller.RemainingUs / 60000000;
        string read = Read(bench, 30);
        Assert.Equal(minutes, (10 * read.Count(c => c == 't')) + read.Count(c => c == 'o'));
        Assert.InRange(minutes, 30, 40);
    }

    [Fact]
    public void The_light_stays_dark_while_an_exposure_runs_and_answers_afterwards()
    {
        var bench = new SiteBench(SiteRigs.Compile(SiteRigs.Short(35)));
        bench.Tell("SHUT:COUN 2;EXP 20;GAP 10;SETT 1");
        bench.Tell("INIT");
        bench.Tell("SHUT:STAR");
        bench.RunUntil(() => bench.Shutter.IsOn, 10);
        bool lit = false;
        bench.Watch = () => lit |= bench.Shutter.IsOn && bench.Led.IsOn;
        bench.Gesture(Gesture.DoublePress);
        bench.RunUntil(() => !bench.Shutter.IsOn, 30);
        int before = bench.Led.Count;
        bench.Run(8);
        Assert.False(lit);
        Assert.True(bench.Led.Count - before >= 2);
    }

    // Flash lengths to letters: f flicker, o one, t ten, h hundred. The state's own pattern comes after the answer.
    private static string Read(SiteBench bench, double mostSec)
    {
        string read = "";
        double lit = 0;
        double dark = 0;
        bool seen = false;
        bench.Run(0.01);
        for (int i = 0; i < mostSec * 200; i++)
        {
            bench.Pass(5);
            if (bench.Led.IsOn)
            {
                lit += 5;
                dark = 0;
                seen = true;
                continue;
            }

            if (lit > 0)
            {
                read += lit < 40 ? "" : lit < 90 ? "f" : lit < 300 ? "o" : lit < 1000 ? "t" : "h";
                lit = 0;
            }

            dark += 5;
            if (seen && dark > 1600)
            {
                break;
            }
        }

        return read;
    }

    private static SiteBench InRow(int row)
    {
        DriveProfile profile = SiteRigs.Compile(SiteRigs.Short());
        if (row == ButtonTable.NoProfile)
        {
            return new SiteBench(null);
        }

        // Lost: switched on in mid-travel, off the home switch, after a fault.
        var bench = new SiteBench(profile);
        bench.Run(0.1);
        switch (row)
        {
            case ButtonTable.PositionUnknown:
                bench.Motor.Microsteps = 500;
                bench.Controller.Fail(Fault.HomeInMidTravel, null);
                bench.Controller.Abort();
                break;
            case ButtonTable.Tracking:
                Assert.Null(bench.Controller.Start(false));
                break;
            case ButtonTable.Rewinding:
                Assert.Null(bench.Controller.Jog(800));
                bench.RunUntil(() => !bench.Controller.IsMoving, 10);
                Assert.Null(bench.Controller.Rewind());
                break;
            case ButtonTable.EndOfTravel:
                Assert.Null(bench.Controller.DeclarePosition(bench.Controller.EndCounts));
                bench.Motor.Microsteps = bench.Controller.EndCounts;
                break;
            case ButtonTable.InFault:
                bench.Controller.Fail(Fault.SupplyLow, null);
                break;
            case ButtonTable.Jogging:
                Assert.Null(bench.Controller.Jog(2000));
                break;
        }

        bench.Pass(5);
        return bench;
    }

    internal static string Root()
    {
        string? at = AppContext.BaseDirectory;
        while (at != null && !File.Exists(Path.Combine(at, "Hourhinge.slnx")))
        {
            at = Path.GetDirectoryName(at);
        }

        return at ?? throw new InvalidOperationException("no repository above the tests");
    }
}
