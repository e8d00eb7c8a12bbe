// Rewinds of the board's own parts in virtual time, at four speeds of the loop. The step train's pulses are made here
// on the step pin, as the diode OR joins them.

using System.Device.Gpio;
using System.Device.Pwm;
using System.Diagnostics;
using System.IO.Ports;
using Hourhinge.Board;
using Hourhinge.Firmware;
using Hourhinge.Firmware.Control;
using Hourhinge.SharedMath.Profile;
using nanoFramework.Hardware.Esp32;

public static class RewindScenario
{
    private static readonly int[] _passesMs = { 10, 20, 30, 50 };

    private static Machine _machine;
    private static BoardParts _parts;
    private static GpioController _pins;
    private static long _runRest;

    public static void Run(byte[][] profiles, bool isFullSize)
    {
        HighResTimer.VirtualUs = 0;
        _pins = new GpioController();
        _parts = new BoardParts(_pins, "COM2");
        _machine = new Machine(_parts.HardwareInterfaces());
        _parts.Link.Start();
        System.Threading.Thread.Sleep(50);
        for (int i = 0; i < profiles.Length; i++)
        {
            Wire.Send(BoardScenario.Upload(profiles[i]));
            for (int pass = 0; pass < 60; pass++)
            {
                Pass(10);
                System.Threading.Thread.Sleep(1);
            }

            DriveProfile profile = _machine.Controller.Profile;
            if (profile.DriveKind == DriveProfile.Stepper)
            {
                for (int p = 0; p < _passesMs.Length; p++)
                {
                    // Far enough for the fast leg where the loop is fastest and slowest; in the small size, once.
                    bool far = isFullSize ? p == 0 || p == _passesMs.Length - 1 : i == 2 && p == _passesMs.Length - 1;
                    Rewind(i, _passesMs[p], far ? 5L * profile.BackOffCounts : 500);
                }
            }
        }
    }

    private static void Rewind(int example, int passMs, long from)
    {
        from = from < _machine.Controller.EndCounts ? from : _machine.Controller.EndCounts - 1;
        string error = _machine.Controller.Jog(from);
        Finish(10);
        long there = _machine.Controller.Drive.Position;
        error = error ?? _machine.Controller.Rewind();
        int passes = Finish(passMs);
        Debug.WriteLine("rewind of example " + example + " from " + there + " at " + passMs + " ms: "
            + ControllerState.Name(_machine.Controller.State) + " at " + _machine.Controller.Drive.Position + " after "
            + passes + " passes " + (error ?? "ok"));
        Debug.WriteLine("@@P" + example + "_" + passMs);
    }

    private static int Finish(int passMs)
    {
        int passes = 0;
        for (; passes < 60000 && _machine.Controller.IsMoving; passes++)
        {
            Pass(passMs);
        }

        return passes;
    }

    private static void Pass(int passMs)
    {
        HighResTimer.VirtualUs += passMs * 1000;
        PwmChannel train = PwmChannel.StepTrain;
        _runRest = train.DutyCycle > 0 ? _runRest + ((long)train.Frequency * passMs) : 0;
        for (; _runRest >= 1000; _runRest -= 1000)
        {
            _pins.Write(BoardPins.Step, PinValue.High);
            _pins.Write(BoardPins.Step, PinValue.Low);
        }

        _parts.Update(_machine);
    }
}
