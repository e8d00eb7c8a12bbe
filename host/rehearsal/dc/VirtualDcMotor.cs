using Hourhinge.Firmware.Hardware;
using Hourhinge.Rehearsal.Board;

namespace Hourhinge.Rehearsal.Dc;

/// <summary>
/// A brushed motor, its gear train with backlash, and an encoder on the rotor, in small fixed steps of virtual time.
/// J·dω/dt = K·(d·V − K·ω)/R − friction − load; the winding's own time constant and the ripple of the PWM are taken as
/// averaged out (a PWM of 10 kHz and more). The nut is self-locking: it moves only while a face of the play pushes it.
/// </summary>
public sealed class VirtualDcMotor : IPwmOutput, IEncoder
{
    private const double StepSec = 0.0005;

    private readonly VirtualClock _clock;
    private readonly VirtualPack _pack;
    private readonly DcMotorConstants _m;
    private readonly double _backlashRad;
    private double _sec;
    private double _duty;
    private double _rotorRad;
    private double _omega;
    private double _nutRad;

    /// <summary>A motor at rest.</summary>
    public VirtualDcMotor(VirtualClock clock, VirtualPack pack, DcMotorConstants constants)
    {
        _clock = clock;
        _pack = pack;
        _m = constants;
        _backlashRad = constants.BacklashDeg * Math.PI / 180;
        _sec = clock.TrueSec;
    }

    /// <summary>Torque that the nut needs, N·m, at a number of nut turns and a direction of +1 or -1; &gt;=
    /// 0.</summary>
    public Func<double, int, double> LoadNm { get; set; } = (_, _) => 0.013;

    /// <summary>False where one transistor drives the motor: it cannot run backward.</summary>
    public bool HasBridge { get; set; } = true;

    /// <summary>Jammed: the rotor does not turn.</summary>
    public bool IsJammed { get; set; }

    /// <summary>The encoder is disconnected: its count does not change.</summary>
    public bool IsEncoderDead { get; set; }

    /// <summary>The encoder's wires are swapped: it counts backward.</summary>
    public bool IsEncoderReversed { get; set; }

    /// <summary>Mounted the other way round: a negative duty moves the nut forward, and the encoder counts
    /// down.</summary>
    public bool IsReversed { get; set; }

    /// <summary>Hard stops of the mechanism, nut turns.</summary>
    public (double Min, double Max) Stops { get; set; } = (-1e9, 1e9);

    /// <summary>Nut turns since power-up, forward positive.</summary>
    public double NutTurns
    {
        get
        {
            Update();
            return _nutRad / (2 * Math.PI);
        }
    }

    /// <summary>Rotor turns since power-up.</summary>
    public double RotorTurns
    {
        get
        {
            Update();
            return _rotorRad / (2 * Math.PI);
        }
    }

    /// <summary>Duty now, -1 to 1.</summary>
    public double Duty => _duty;

    /// <inheritdoc/>
    public long Counts
    {
        get
        {
            long counts = (long)Math.Floor(RotorTurns * _m.CountsPerRotorTurn);
            _lastCounts = IsEncoderDead ? _lastCounts : IsEncoderReversed != IsReversed ? -counts : counts;
            return _lastCounts;
        }
    }

    private long _lastCounts;

    /// <inheritdoc/>
    public void SetDutyPerTenThousand(int duty)
    {
        Update();
        int forward = IsReversed ? -duty : duty;
        _duty = HasBridge || forward > 0 ? Math.Clamp(forward, -10000, 10000) / 10000.0 : 0;
    }

    /// <summary>Sets the position of nut and rotor, at rest.</summary>
    public void SetNutTurns(double turns)
    {
        Update();
        _nutRad = turns * 2 * Math.PI;
        _rotorRad = _nutRad * _m.TurnsPerNutTurn;
        _omega = 0;
    }

    private void Update()
    {
        double now = _clock.TrueSec;
        while (_sec + StepSec <= now)
        {
            _sec += StepSec;
            Step();
        }
    }

    private void Step()
    {
        if (_duty == 0 && _omega == 0)
        {
            _pack.LoadAmpere = 0;
            return;
        }

        double current = ((_duty * _pack.Volts) - (_m.BackEmfVoltSec * _omega)) / _m.ResistanceOhm;
        if (_duty == 0)
        {
            current = 0; // The bridge is open: the motor coasts.
        }

        _pack.LoadAmpere = Math.Abs(_duty * current);
        double drive = _m.BackEmfVoltSec * current;
        int direction = Math.Abs(_omega) > _m.RestRadPerSec ? Math.Sign(_omega) : Math.Sign(drive);
        double load = LoadAtRotor(direction);
        bool atRest = Math.Abs(_omega) <= _m.RestRadPerSec;
        if (IsJammed || (atRest && Math.Abs(drive) <= _m.StaticFrictionNm + load))
        {
            _omega = 0;
            return;
        }

        double resist = (direction * (_m.KineticFrictionNm + load)) + (_m.ViscousNmSec * _omega);
        double next = _omega + ((drive - resist) / _m.InertiaKgM2 * StepSec);

        // Friction stops a rotor; it never turns it round.
        _omega = Math.Sign(next) == -Math.Sign(_omega) && Math.Abs(drive) <= _m.StaticFrictionNm + load ? 0 : next;
        Turn(_omega * StepSec);
    }

    private double LoadAtRotor(int direction)
    {
        double face = _rotorRad / _m.TurnsPerNutTurn;
        bool pushes = direction > 0 ? face - _nutRad >= -1e-12 : face - _nutRad <= -_backlashRad + 1e-12;
        return pushes ? LoadNm(_nutRad / (2 * Math.PI), direction) / _m.TurnsPerNutTurn / _m.GearEfficiency : 0;
    }

    // The nut's play: the forward face pushes when the rotor leads, the backward face when it lags by the backlash.
    private void Turn(double byRad)
    {
        double rotor = _rotorRad + byRad;
        double face = rotor / _m.TurnsPerNutTurn;
        double nut = face > _nutRad ? face : face < _nutRad - _backlashRad ? face + _backlashRad : _nutRad;
        double turns = nut / (2 * Math.PI);
        if (turns < Stops.Min || turns > Stops.Max)
        {
            _omega = 0;
            return;
        }

        _rotorRad = rotor;
        _nutRad = nut;
    }
}
