// Passes of the board's own parts, one by one in virtual time, with the runtime's counters read between them. A line
// that begins with @@ makes the runtime print its counters and start again.

using System.Device.Gpio;
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

    public static void Run(byte[] profile)
    {
        HighResTimer.VirtualUs = 0;
        Debug.WriteLine("@@GEMPTY");
        _parts = new BoardParts(new GpioController(), "COM2");
        _machine = new Machine(_parts.HardwareInterfaces());
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
        Passes(PassesLeft);
        Debug.WriteLine("@@GLONG");
        Debug.WriteLine("state " + ControllerState.Name(_machine.Controller.State) + " at "
            + _machine.Controller.Drive.Position + " due " + _machine.Controller.CountsDue);
    }

    // Together with those before it 100 000 passes: 1000 s of tracking.
    private const int PassesLeft = 98800;

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
}
