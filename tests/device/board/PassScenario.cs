// Passes of the board's own parts, one by one in virtual time, with the runtime's counters read between them. A line
// that begins with @@ makes the runtime print its counters and start again.

using System.Device.Gpio;
using System.Device.Pwm;
using System.Diagnostics;
using System.IO.Ports;
using Hourhinge.Board;
using Hourhinge.Firmware;
using Hourhinge.Firmware.Control;
using Hourhinge.SharedMath.Compile;
using Hourhinge.SharedMath.Profile;
using nanoFramework.Hardware.Esp32;

public static class PassScenario
{
    private const int PassUs = 10000;

    private static Machine _machine;
    private static BoardParts _parts;
    private static PwmChannel _train;
    private static long _trainRest;

    /// <summary>Idle passes, then tracking without and with the wire to the step counter.</summary>
    public static void Run(byte[] profile, int passesLeft)
    {
        HighResTimer.VirtualUs = 0;
        Debug.WriteLine("@@GEMPTY");
        _parts = new BoardParts(new GpioController(), "COM2");
        _machine = new Machine(_parts.HardwareInterfaces());
        _train = PwmChannel.StepTrain;
        Debug.WriteLine("@@GBOOT");
        _parts.Link.Start();
        System.Threading.Thread.Sleep(50);
        Passes(5);
        Wire.Send(BoardScenario.Upload(profile));
        for (int i = 0; i < 600; i++)
        {
            Passes(1);
            System.Threading.Thread.Sleep(1);
        }

        Debug.WriteLine("lost " + Wire.Lost + " slot " + _machine.Store.Slot + " known "
            + (_machine.Controller.IsPositionKnown ? 1 : 0));
        Debug.WriteLine("@@GPROFILE");
        Loop(1000000);
        Debug.WriteLine("@@LOOP");
        DriveProfile compiled = new RigCompiler().Compile(_machine.Store.Profile.Rig, null);
        Debug.WriteLine("@@COMPILE");
        Debug.WriteLine("compiled " + (compiled == null ? "nothing" : compiled.RigName));
        Debug.WriteLine("@@GREADY");
        Passes(1000);
        Debug.WriteLine("@@IDLE");
        string error = _machine.Controller.Start(false);
        Debug.WriteLine("start " + (error ?? "ok"));
        Passes(200);
        Debug.WriteLine("@@PTRACK0");
        Debug.WriteLine("@@SETTLE");
        Passes(1000);
        Debug.WriteLine("@@TRACKING");
        Debug.WriteLine("@@PTRACK1");
        Passes(passesLeft);
        Debug.WriteLine("@@GLONG");
        State("state");
        _machine.Controller.Abort();
        error = _machine.Controller.Start(false);
        Debug.WriteLine("start with counter " + (error ?? "ok"));
        PassesWithCounter(500);
        Debug.WriteLine("train " + _train.Frequency + " Hz, duty " + (int)(_train.DutyCycle * 100));
        Debug.WriteLine("@@SETTLE2");
        PassesWithCounter(1000);
        Debug.WriteLine("@@TRAIN");
        PassesWithCounter(passesLeft / 4);
        Debug.WriteLine("@@GTRAIN");
        State("train");
        _machine.Controller.Abort();
        Debug.WriteLine("aborted with duty " + (int)(_train.DutyCycle * 100));
    }

    private static void State(string word)
    {
        Debug.WriteLine(word + " " + ControllerState.Name(_machine.Controller.State) + " at "
            + _machine.Controller.Drive.Position + " due " + _machine.Controller.CountsDue);
    }

    public static int Loop(int turns)
    {
        int sum = 0;
        for (int i = 0; i < turns; i++)
        {
            sum += i;
        }

        return sum;
    }

    private static void Passes(int count)
    {
        for (int i = 0; i < count; i++)
        {
            HighResTimer.VirtualUs += PassUs;
            _parts.Update(_machine);
        }
    }

    // The train's pulses, and those that the program makes: what its position gains in a pass without a train.
    private static void PassesWithCounter(int count)
    {
        for (int i = 0; i < count; i++)
        {
            HighResTimer.VirtualUs += PassUs;
            bool runs = _train.DutyCycle > 0;
            _trainRest = runs ? _trainRest + ((long)_train.Frequency * PassUs) : 0;
            GpioPulseCounter.StepPulses += _trainRest / 1000000;
            _trainRest %= 1000000;
            long before = _machine.Controller.Drive.Position;
            _parts.Update(_machine);
            GpioPulseCounter.StepPulses += runs ? 0 : _machine.Controller.Drive.Position - before;
        }
    }
}
