// A peer that sends garbage at the full line rate for an hour must not delay a step by more than a few milliseconds.

using Hourhinge.Firmware;
using Hourhinge.Firmware.Control;
using Hourhinge.Firmware.Hardware;
using Hourhinge.Firmware.Storage;
using Hourhinge.Rehearsal.Board;
using Hourhinge.SharedMath.Profile;
using Xunit.Abstractions;

namespace Hourhinge.Tests.Firmware.Logic;

/// <summary>
/// A UART with a small buffer, filled at the line rate of true time, whose bytes cost processor time: every byte taken
/// and every message parsed moves the virtual clock on, as it does on a small interpreting runtime.
/// </summary>
internal sealed class GarbageLink(VirtualClock clock, int bytesPerSec) : IByteLink
{
    // 100 simple operations for a byte and 7000 for a unit that nobody knows, at 2 million a second
    // (firmware/MOTION-COST.md).
    private const double ByteUs = 50;
    public const double UnitUs = 3500;
    private const int BufferBytes = 256;

    // Of headers, but of none that moves or stops anything: chance would spell REW within the hour.
    private const string Letters = "INITABOEMSDPFL:; ?#\"";

    private readonly Random _random = new(5);
    private double _untilUs = clock.TrueUs;
    private double _waiting;

    public long Taken { get; private set; }

    public long Lost { get; private set; }

    public int Connections => 0;

    public int Read(byte[] buffer, int index, int count)
    {
        double now = clock.TrueUs;
        _waiting += (now - _untilUs) * 1e-6 * bytesPerSec;
        _untilUs = now;
        if (_waiting > BufferBytes)
        {
            Lost += (long)(_waiting - BufferBytes);
            _waiting = BufferBytes;
        }

        int taken = Math.Min(count, (int)_waiting);
        double cost = 0;
        for (int i = 0; i < taken; i++)
        {
            // Every fortieth byte a newline, so that there is something to parse; every thirtieth a letter of a header.
            int kind = _random.Next(40);
            byte b = kind == 0 ? (byte)'\n' : kind < 20
                ? (byte)Letters[_random.Next(Letters.Length)]
                : (byte)_random.Next(256);
            buffer[index + i] = b;
            cost += ByteUs;
        }

        _waiting -= taken;
        Taken += taken;
        clock.AdvanceTo(now + cost);
        return taken;
    }

    public int Write(byte[] buffer, int index, int count) => 0;
}

public sealed class GarbageTests(ITestOutputHelper output)
{
    [Theory]
    [InlineData(1)]
    [InlineData(5)]
    [InlineData(20)]
    public void Garbage_at_full_line_rate_for_an_hour_delays_no_step(double passMs)
    {
        (long worstQuiet, long meanQuiet, long countsQuiet, _) = Track(passMs, 0);
        (long worst, long mean, long counts, GarbageLink link) = Track(passMs, 11520);
        output.WriteLine($"passes of {passMs} ms, one hour: quiet peer {worstQuiet} us worst, {meanQuiet} us mean; "
            + $"garbage ({link.Taken} bytes taken, {link.Lost} lost in a 256-byte buffer, peer reads nothing) "
            + $"{worst} us worst, {mean} us mean; "
            + $"{(worst - worstQuiet) * 15.041e-6:0.000} arcsec more at worst, position {counts - countsQuiet} "
            + "steps different");
        Assert.Equal(countsQuiet, counts);
        Assert.True(worst - worstQuiet < 8000);
    }

    private static (long Worst, long Mean, long Counts, GarbageLink Link) Track(double passMs, int bytesPerSec)
    {
        var clock = new VirtualClock(0, 2);
        var motor = new VirtualStepper(clock);
        var flash = new VirtualFlash();
        byte[] bytes = ProfileCodec.Encode(SiteRigs.Compile(SiteRigs.Short(90, false)));
        var store = new ProfileStore(flash);
        store.Load();
        Assert.True(store.Save(bytes, []));
        var link = new GarbageLink(clock, bytesPerSec);
        var machine = new Machine(new HardwareInterfaces
        {
            Clock = clock,
            Step = motor,
            Home = new VirtualInput(),
            End = new VirtualInput(),
            Storage = flash,
            Link = link,
        });
        Assert.Null(machine.Controller.DeclarePosition(0) ?? machine.Controller.Start(false));
        double start = clock.TrueSec;
        while (clock.TrueSec - start < 3600)
        {
            double began = clock.TrueUs;
            long units = machine.Instrument.UnitsExecuted;
            machine.Update();
            clock.AdvanceTo(clock.TrueUs + ((machine.Instrument.UnitsExecuted - units) * GarbageLink.UnitUs));
            clock.AdvanceTo(began + (passMs * 1000));
        }

        // A last look at the same profile time, so that the two nights can be compared step by step.
        Assert.Equal(ControllerState.Tracking, machine.Controller.State);
        long late = machine.Controller.CountsDue - machine.Controller.Drive.Position;
        Assert.InRange(late, 0, 2);
        return (machine.Controller.Lateness.WorstUs, machine.Controller.Lateness.MeanUs, motor.Microsteps + late, link);
    }
}
