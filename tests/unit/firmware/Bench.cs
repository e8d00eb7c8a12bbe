// The whole machine on the virtual board, for tests that speak to it. Passes are 1 ms of virtual time.

using System.Text;
using Hourhinge.Firmware;
using Hourhinge.Firmware.Control;
using Hourhinge.Rehearsal.Board;
using Hourhinge.SharedMath.Profile;
using Hourhinge.Tests.SharedMath.Compile;

namespace Hourhinge.Tests.Firmware;

/// <summary>A controller on the bench: motor, switches, flash, link, and somebody who types.</summary>
public sealed class Bench
{
    public Bench(VirtualFlash? flash = null, double passMs = 1, bool hasStepCounter = false)
    {
        PassMs = passMs;
        Flash = flash ?? new VirtualFlash();
        Motor = new VirtualStepper(Clock);
        Home = new VirtualInput(() => HomeAt is long home && Stands() <= home);
        End = new VirtualInput(() => EndAt is long end && Stands() >= end);
        Machine = new Machine(new HardwareInterfaces
        {
            Clock = Clock,
            Step = Motor,
            StepCounter = hasStepCounter ? Motor : null,
            Home = Home,
            End = End,
            Storage = Flash,
            Link = Link,
        });
    }

    public VirtualClock Clock { get; } = new();

    public VirtualStepper Motor { get; }

    public VirtualFlash Flash { get; }

    public ByteQueueLink Link { get; } = new();

    public VirtualInput Home { get; }

    public VirtualInput End { get; }

    public Machine Machine { get; }

    public double PassMs { get; set; }

    /// <summary>Microsteps at and below which the home switch is closed; null: no switch there.</summary>
    public long? HomeAt { get; set; }

    /// <summary>Microsteps at and above which the end switch is closed.</summary>
    public long? EndAt { get; set; }

    public Controller Controller => Machine.Controller;

    /// <summary>A bench that has taken a profile and stands at the start, its position known.</summary>
    public static Bench WithProfile(DriveProfile? profile = null, long? homeAt = 0)
    {
        Bench bench = new() { HomeAt = homeAt };
        bench.Upload(profile ?? SampleDesigns.Compile(SampleDesigns.Bench()));
        bench.AssertNoError();
        return bench;
    }

    public void Pass(int passes = 1)
    {
        for (int i = 0; i < passes; i++)
        {
            Clock.AdvanceTo(Clock.TrueUs + (PassMs * 1000));
            Machine.Update();
            Motor.UpdateRun();
        }
    }

    // Where a running pulse train has taken the motor by now.
    private long Stands()
    {
        Motor.UpdateRun();
        return Motor.Microsteps;
    }

    /// <summary>Lets virtual time pass.</summary>
    public void Run(double seconds)
    {
        double until = Clock.TrueSec + seconds;
        while (Clock.TrueSec < until)
        {
            Pass();
        }
    }

    /// <summary>Passes until something holds; fails when it never does.</summary>
    public void RunUntil(Func<bool> done, double atMostSec)
    {
        double until = Clock.TrueSec + atMostSec;
        while (!done())
        {
            Assert.True(Clock.TrueSec < until,
                $"not within {atMostSec} s; state {ControllerState.Name(Controller.State)}");
            Pass();
        }
    }

    /// <summary>Sends a line and lets it be executed.</summary>
    public void Tell(string line) => TellBytes(Encoding.Latin1.GetBytes(line + "\n"));

    public void TellBytes(byte[] bytes)
    {
        Link.Send(bytes);
        while (Link.UnreadBytes > 0)
        {
            Pass();
        }

        Pass(70);
    }

    /// <summary>Sends a line and returns the bytes that come back, as text, without the newline.</summary>
    public string Ask(string line)
    {
        Link.Receive();
        Tell(line);
        StringBuilder answer = new();
        for (int quiet = 0; quiet < 3; quiet++)
        {
            byte[] got = Link.Receive();
            answer.Append(Encoding.Latin1.GetString(got));
            quiet = got.Length > 0 ? -1 : quiet;
            Pass(3);
        }

        string text = answer.ToString();
        return text.EndsWith('\n') ? text[..^1] : text;
    }

    /// <summary>The next error's number.</summary>
    public int NextError() => int.Parse(Ask("SYST:ERR?").Split(',')[0]);

    public void AssertNoError() => Assert.Equal("0,\"No error\"", Ask("SYST:ERR?"));

    public void Upload(DriveProfile profile) => TellBytes(Command("PROF:DATA ", ProfileCodec.Encode(profile)));

    /// <summary>A command whose parameter is a definite-length block.</summary>
    public static byte[] Command(string header, byte[] block)
    {
        string length = block.Length.ToString();
        return [.. Encoding.ASCII.GetBytes(header + "#" + length.Length + length), .. block, (byte)'\n'];
    }
}
