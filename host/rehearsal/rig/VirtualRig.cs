using System.Globalization;
using System.Text;
using Hourhinge.Firmware;
using Hourhinge.Firmware.Hardware;
using Hourhinge.Rehearsal.Board;
using Hourhinge.Rehearsal.Mechanisms;
using Hourhinge.Rig;

namespace Hourhinge.Rehearsal.Rig;

/// <summary>
/// The firmware on a virtual board that drives a virtual rig: clock, stepper, switches, flash and a serial line, in
/// virtual time. Use from one thread.
/// </summary>
public sealed class VirtualRig
{
    private readonly long _endSteps;

    /// <summary>A board at power-up, hinge at the start of its travel unless told otherwise.</summary>
    public VirtualRig(RigDescription rig, CompiledDrive drive, VirtualRigOptions options)
    {
        Clock = new VirtualClock(options.CrystalErrorPpm);
        Stepper =
            new VirtualStepper(Clock, rig.Motor.PullInStepsPerSec * 1.2, options.LostStepsPerThousand, options.Seed);
        Mechanism = new Mechanism(
            rig,
            drive.Design.CountsPerNutTurn.Ratio,
            rig.Opens ? rig.Rod.ShortestMm : rig.Rod.LongestMm,
            options.Faults);
        double travelMm = rig.Rod.LongestMm - rig.Rod.ShortestMm;
        _endSteps = (long)(travelMm / rig.Rod.PitchMm * drive.Design.CountsPerNutTurn.Ratio);
        int sense = rig.Motor.Reversed ? -1 : 1;
        TrackedMicrosteps = () => sense * Stepper.Microsteps;
        long slack = 6L * drive.Profile.BackOffCounts;
        Stepper.Stops = sense > 0 ? (-slack, _endSteps + slack) : (-_endSteps - slack, slack);
        Home = new VirtualInput(() => Now(Stepper) <= 0);
        End = new VirtualInput(() => Now(Stepper) >= _endSteps);
        Flash = options.Flash ?? new VirtualFlash();
        Link = new ByteQueueLink();
        Machine = new Machine(new HardwareInterfaces
        {
            Clock = Clock,
            Step = Stepper,
            Home = Home,
            End = End,
            Led = Led,
            Shutter = Shutter,
            KeepAliveLoad = KeepAliveLoad,
            Storage = Flash,
            Link = options.Link ?? Link,
        });

        long Now(VirtualStepper stepper)
        {
            stepper.UpdateRun();
            return TrackedMicrosteps();
        }
    }

    /// <summary>The firmware.</summary>
    public Machine Machine { get; }

    /// <summary>The crystal.</summary>
    public VirtualClock Clock { get; }

    /// <summary>The motor.</summary>
    public VirtualStepper Stepper { get; }

    /// <summary>The hinge.</summary>
    public Mechanism Mechanism { get; }

    /// <summary>The home switch.</summary>
    public VirtualInput Home { get; }

    /// <summary>The end switch.</summary>
    public VirtualInput End { get; }

    /// <summary>The LED.</summary>
    public VirtualOutput Led { get; } = new();

    /// <summary>The remote shutter.</summary>
    public VirtualOutput Shutter { get; } = new();

    /// <summary>The load that keeps a power bank awake.</summary>
    public VirtualOutput KeepAliveLoad { get; } = new();

    /// <summary>Flash.</summary>
    public VirtualFlash Flash { get; }

    /// <summary>The serial line.</summary>
    public ByteQueueLink Link { get; }

    /// <summary>Microsteps in the tracking direction since the start of the travel.</summary>
    public Func<long> TrackedMicrosteps { get; }

    /// <summary>Runs the firmware's loop once and advances true time by at least <paramref name="periodUs"/>.</summary>
    public void Update(double periodUs)
    {
        double began = Clock.TrueUs;
        Machine.Update();
        Clock.AdvanceTo(began + periodUs);
    }

    /// <summary>Sends a message and runs the firmware until it has answered or become idle; returns the answer
    /// without newline.</summary>
    public string Query(string message)
    {
        Link.SendLine(message);
        return Encoding.Latin1.GetString(RunUntilQuiet()).TrimEnd('\n');
    }

    /// <summary>Uploads a rig file and its profile as a host does; the controller's error, or null.</summary>
    public string? Upload(byte[] rigFile, byte[] profile)
    {
        SendBlock("RIG:DATA", rigFile);
        SendBlock("PROFile:DATA", profile);
        RunUntilQuiet();
        string error = Query("SYSTem:ERRor?");
        return error.StartsWith("0,", StringComparison.Ordinal) ? null : error;
    }

    /// <summary>Sends a header with a definite-length block.</summary>
    public void SendBlock(string header, byte[] block)
    {
        string length = block.Length.ToString(CultureInfo.InvariantCulture);
        Link.Send(Encoding.ASCII.GetBytes($"{header} #{length.Length}{length}"));
        Link.Send(block);
        Link.Send("\n"u8);
    }

    private byte[] RunUntilQuiet()
    {
        var received = new List<byte>();
        int quiet = 0;
        while (quiet < 20)
        {
            Update(200);
            byte[] bytes = Link.Receive();
            received.AddRange(bytes);
            quiet = bytes.Length == 0 && Link.UnreadBytes == 0 ? quiet + 1 : 0;
        }

        return [.. received];
    }
}

/// <summary>How the virtual board and rig differ from ideal ones.</summary>
public sealed record VirtualRigOptions
{
    /// <summary>Mechanical faults.</summary>
    public MechanicalFaults Faults { get; init; } = new();

    /// <summary>A fast crystal is positive, ppm.</summary>
    public double CrystalErrorPpm { get; init; }

    /// <summary>Steps lost at random, 1/1000.</summary>
    public double LostStepsPerThousand { get; init; }

    /// <summary>Seed of everything random.</summary>
    public int Seed { get; init; } = 1;

    /// <summary>Flash with contents; null for blank flash.</summary>
    public VirtualFlash? Flash { get; init; }

    /// <summary>A link of another kind (TCP, pseudo-terminal); null for the one in memory.</summary>
    public IByteLink? Link { get; init; }
}
