using System.Globalization;
using System.Text;
using Hourhinge.Firmware;
using Hourhinge.Firmware.Hardware;
using Hourhinge.Rehearsal.Board;
using Hourhinge.Rehearsal.Dc;
using Hourhinge.Rehearsal.Mechanisms;
using Hourhinge.Rig;

namespace Hourhinge.Rehearsal.Rig;

/// <summary>
/// The firmware on a virtual board that drives a virtual rig: clock, motor (a stepper, or a DC motor with its pack),
/// switches, flash and a serial line, in virtual time. Use from one thread.
/// </summary>
public sealed class VirtualRig
{
    // Rough thread: the load differs by up to this share, with a new value each fiftieth of a nut turn.
    private const double LoadRoughness = 0.1;

    private readonly double _travelTurns;
    private readonly double _countsPerNutTurn;
    private readonly int _sense;

    /// <summary>A board at power-up, hinge at the start of its travel unless told otherwise.</summary>
    public VirtualRig(RigDescription rig, CompiledDrive drive, VirtualRigOptions options)
    {
        Clock = new VirtualClock(options.CrystalErrorPpm);
        _countsPerNutTurn = drive.Design.CountsPerNutTurn.Ratio;
        _sense = rig.Motor.Reversed ? -1 : 1;
        _travelTurns = (rig.Rod.LongestMm - rig.Rod.ShortestMm) / rig.Rod.PitchMm;
        Mechanism = new Mechanism(rig, _countsPerNutTurn, rig.Opens ? rig.Rod.ShortestMm : rig.Rod.LongestMm,
            options.Faults);
        double endCounts = Math.Floor(_travelTurns * _countsPerNutTurn);
        double slack = 6.0 * drive.Profile.BackOffCounts;
        if (rig.Motor.Dc is { } dc)
        {
            Pack = new VirtualPack(Clock) { OpenCircuitVolts = _ => dc.CurveVolts };
            DcMotor = Motor(rig, drive, dc, options);
            DcMotor.Stops = (-slack / _countsPerNutTurn, (endCounts + slack) / _countsPerNutTurn);
        }
        else
        {
            Stepper = new VirtualStepper(Clock, rig.Motor.PullInStepsPerSec * 1.2, options.LostStepsPerThousand,
                options.Seed);
            Stepper.Stops = _sense > 0
                ? ((long)-slack, (long)(endCounts + slack))
                : ((long)(-endCounts - slack), (long)slack);
        }

        Home = new VirtualInput(() => TrackedCounts <= 0);
        End = new VirtualInput(() => TrackedCounts >= endCounts);
        Flash = options.Flash ?? new VirtualFlash();
        Link = new ByteQueueLink();
        Machine = new Machine(new HardwareInterfaces
        {
            Clock = Clock,
            Step = Stepper,
            StepCounter = options.HasStepCounter ? Stepper : null,
            Pwm = DcMotor,
            Encoder = rig.Motor.Dc is { HasEncoder: true } ? DcMotor : null,
            Supply = Pack,
            Home = Home,
            End = End,
            Led = Led,
            Shutter = Shutter,
            KeepAliveLoad = KeepAliveLoad,
            Storage = Flash,
            Link = options.Link ?? Link,
        });
    }

    /// <summary>The firmware.</summary>
    public Machine Machine { get; }

    /// <summary>The crystal.</summary>
    public VirtualClock Clock { get; }

    /// <summary>The stepper; null on a rig with a DC motor.</summary>
    public VirtualStepper? Stepper { get; }

    /// <summary>The DC motor; null on a rig with a stepper.</summary>
    public VirtualDcMotor? DcMotor { get; }

    /// <summary>The DC motor's pack; null on a rig with a stepper.</summary>
    public VirtualPack? Pack { get; }

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

    /// <summary>Drive counts in the tracking direction since the start of the travel; fractions with a DC
    /// motor.</summary>
    public double TrackedCounts
    {
        get
        {
            if (DcMotor != null)
            {
                return DcMotor.NutTurns * _countsPerNutTurn;
            }

            Stepper!.UpdateRun();
            return _sense * Stepper.Microsteps;
        }
    }

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

    private VirtualDcMotor Motor(RigDescription rig, CompiledDrive drive, DcData dc, VirtualRigOptions options)
    {
        var measured = MeasuredMotor.Of(rig, drive.Design.NutTurnsPerMinuteAt(0));
        double swing = options.LoadSwingPercent / 100;
        double rough = swing == 0 ? 0 : LoadRoughness;
        return new VirtualDcMotor(Clock, Pack!, measured.Constants)
        {
            HasBridge = dc.HasBridge,
            IsReversed = rig.Motor.Reversed,
            LoadNm = (turns, _) => measured.LoadNm
                * (1 + (swing * Math.Sin(6 * Math.PI * turns / _travelTurns))
                    + (rough * RoughnessAt((long)Math.Floor(turns * 50)))),
        };
    }

    // A fixed pseudo-random value for each place, -1 to 1.
    private static double RoughnessAt(long place) =>
        ((((ulong)place * 0x9E3779B97F4A7C15UL) >> 40) / (double)(1 << 23)) - 1;

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

    /// <summary>True when the pulses at the driver are counted back, so that tracking may leave them to the hardware.
    /// Of consequence for steppers only.</summary>
    public bool HasStepCounter { get; init; }

    /// <summary>Steps lost at random, 1/1000.</summary>
    public double LostStepsPerThousand { get; init; }

    /// <summary>The nut's load swings by this share of itself, three times over the travel, percent; a rough thread
    /// comes with it. Of consequence for DC motors only.</summary>
    public double LoadSwingPercent { get; init; }

    /// <summary>Seed of everything random.</summary>
    public int Seed { get; init; } = 1;

    /// <summary>Flash with contents; null for blank flash.</summary>
    public VirtualFlash? Flash { get; init; }

    /// <summary>A link of another kind (TCP, pseudo-terminal); null for the one in memory.</summary>
    public IByteLink? Link { get; init; }
}
