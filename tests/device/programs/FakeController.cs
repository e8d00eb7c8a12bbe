// A whole controller on the fake board, and somebody who sends it messages.

#nullable disable

using Hourhinge.Firmware;
using Hourhinge.Firmware.Control;
using Hourhinge.Firmware.Panel;
using Hourhinge.SharedMath.Profile;

namespace Hourhinge.DeviceTests.Programs;

/// <summary>The parts of a board.</summary>
public sealed class FakeBoard
{
    /// <summary>Where the end switch closes, counts.</summary>
    public long EndAt = long.MaxValue;

    /// <summary>True for a DC motor, false for a stepper.</summary>
    public bool IsDc;

    /// <summary>The stepper.</summary>
    public FakeStepper Stepper;

    /// <summary>The DC motor.</summary>
    public FakeDcMotor Motor;

    /// <summary>Where the carriage is, counts of the motor.</summary>
    public long Carriage => IsDc ? Motor.Counts : Stepper.Position;
}

/// <summary>A controller and its surroundings.</summary>
public sealed class FakeController
{
    private readonly int _passUs;

    /// <summary>Switches a controller on.</summary>
    public FakeController(FakeFlash flash, int passMs, bool isDc, bool hasEncoder)
    {
        _passUs = passMs * 1000;
        Flash = flash;
        Board = new FakeBoard();
        Board.IsDc = isDc;
        Board.Stepper = new FakeStepper(Clock);
        Board.Motor = new FakeDcMotor(Clock);
        HardwareInterfaces hardware = new HardwareInterfaces();
        hardware.Clock = Clock;
        hardware.Step = isDc ? null : Board.Stepper;
        hardware.StepCounter = Board.Stepper;
        hardware.Pwm = isDc ? Board.Motor : null;
        hardware.Encoder = isDc && hasEncoder ? Board.Motor : null;
        hardware.Home = new FakeInput(Board, false);
        hardware.End = new FakeInput(Board, true);
        hardware.Button = new GestureQueue(Clock, Button);
        hardware.Led = Led;
        hardware.Shutter = Shutter;
        hardware.KeepAliveLoad = Load;
        hardware.Supply = new FakeSupply();
        hardware.MinMillivolts = 4200;
        hardware.Storage = flash;
        hardware.Link = Link;
        Machine = new Machine(hardware);
    }

    /// <summary>The clock.</summary>
    public FakeClock Clock { get; } = new FakeClock();

    /// <summary>Motor and carriage.</summary>
    public FakeBoard Board { get; }

    /// <summary>The flash.</summary>
    public FakeFlash Flash { get; }

    /// <summary>The button.</summary>
    public FakeInput Button { get; } = new FakeInput();

    /// <summary>The LED.</summary>
    public FakeOutput Led { get; } = new FakeOutput();

    /// <summary>The remote shutter.</summary>
    public FakeOutput Shutter { get; } = new FakeOutput();

    /// <summary>The keep-alive load.</summary>
    public FakeOutput Load { get; } = new FakeOutput();

    /// <summary>The line.</summary>
    public FakeLink Link { get; } = new FakeLink();

    /// <summary>The logic.</summary>
    public Machine Machine { get; }

    /// <summary>Lets passes go by.</summary>
    public void Pass(int passes)
    {
        for (int i = 0; i < passes; i++)
        {
            Clock.Us += _passUs;
            Machine.Update();
            Board.Stepper.UpdateRun();
        }
    }

    /// <summary>Lets passes go by until nothing moves.</summary>
    public void PassUntilRest(int atMost)
    {
        for (int i = 0; i < atMost && Machine.Controller.IsMoving; i++)
        {
            Pass(1);
        }
    }

    /// <summary>Sends a line, lets it be executed and prints the answer.</summary>
    public void Ask(string line)
    {
        Tell(line);
        Out.Line(line + " -> " + Link.AnswerText());
    }

    /// <summary>Sends a line and lets it be executed.</summary>
    public void Tell(string line)
    {
        byte[] bytes = new byte[line.Length + 1];
        for (int i = 0; i < line.Length; i++)
        {
            bytes[i] = (byte)line[i];
        }

        bytes[line.Length] = (byte)'\n';
        Send(bytes);
    }

    /// <summary>Sends bytes and lets them be executed.</summary>
    public void Send(byte[] bytes)
    {
        Link.Clear();
        Link.Send(bytes);
        for (int i = 0; i < 500 && Link.HasUnread; i++)
        {
            Pass(1);
        }

        int quiet = 0;
        for (int i = 0; i < 500 && quiet < 8; i++)
        {
            int before = Link.AnswerCount;
            Pass(1);
            quiet = Link.AnswerCount == before ? quiet + 1 : 0;
        }
    }

    /// <summary>Uploads a profile.</summary>
    public void Upload(byte[] profile)
    {
        string header = "PROF:DATA #4" + (profile.Length / 1000) + (profile.Length / 100 % 10)
            + (profile.Length / 10 % 10) + (profile.Length % 10);
        byte[] bytes = new byte[header.Length + profile.Length + 1];
        for (int i = 0; i < header.Length; i++)
        {
            bytes[i] = (byte)header[i];
        }

        System.Array.Copy(profile, 0, bytes, header.Length, profile.Length);
        bytes[bytes.Length - 1] = (byte)'\n';
        Send(bytes);
    }

    /// <summary>Prints state, position due and position.</summary>
    public void Report(string what)
    {
        Controller controller = Machine.Controller;
        Out.Line(what + " " + ControllerState.Name(controller.State) + " fault " + controller.FaultReason + " due "
            + controller.CountsDue + " at " + controller.Drive.Position + " carriage " + Board.Carriage + " led "
            + Led.Count + " shutter " + Shutter.Count + " load " + Load.Count + " late "
            + (controller.ErrorQ16 / DriveProfile.OneCount));
    }
}
