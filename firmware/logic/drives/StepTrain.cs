// The hardware pulse train while tracking: the frequency is set between passes, the pulses are counted back.

using Hourhinge.Firmware.Guards;
using Hourhinge.Firmware.Hardware;
using Hourhinge.SharedMath.Profile;

namespace Hourhinge.Firmware.Drives;

/// <summary>
/// Keeps the counted position at the due one by the train's frequency. Between two readings of the counter the position
/// is the last count plus frequency times time. The counter is believed only after it has counted the pulses of the
/// program one by one; from then on a disagreement with what was sent is a fault.
/// </summary>
public sealed class StepTrain
{
    /// <summary>A change of frequency may bring a pulse forward to three quarters of a period
    /// (<see cref="IStepOutput.RunAtHertz"/>), and the timer may be half a percent fast: the train stays below this
    /// share of pull-in.</summary>
    public const int MaxPercentOfPullIn = 74;

    private const int HighPercent = 75;

    // A reading every 50 ms, and not before a dozen pulses were sent: fewer could be missing unnoticed.
    private const long ReadIntervalUs = 50000;
    private const long ReadAfterQ16 = 12 * DriveProfile.OneCount;

    // Pulses that the counter must have counted exactly before it is believed.
    private const int ProvingPulses = 8;

    // Each change of frequency moves the next pulse, so within half a count of the due position there is none, and
    // within a count one a second; what is beyond is removed in a quarter of a second. A change in every reading would
    // lose more pulses than it adds.
    private const long GainPerSec = 4;
    private const long CalmUs = 1000000;

    // What a healthy counter may differ in one reading: three pulses, an eighth of what was sent, and what the train
    // makes in 4 ms between the readings of clock and counter.
    private const long ToleranceQ16 = 3 * DriveProfile.OneCount;
    private const long LateReadingUs = 4000;
    private const int MaxBadReadings = 2;

    // And in a second: three pulses, a quarter of one for each change of frequency, and a sixty-fourth.
    private const long WindowUs = 1000000;

    private readonly IStepOutput _output;
    private readonly IPulseCounter _counter;
    private readonly IClock _clock;
    private int _hertz;
    private long _sinceUs;
    private long _changedUs;
    private long _estimateQ16;
    private long _position;
    private long _count;
    private long _readUs;
    private long _sentQ16;
    private int _badReadings;
    private long _windowBeganUs;
    private long _windowOffQ16;
    private long _windowSentQ16;
    private long _windowChanges;
    private int _provingPulses;
    private bool _wasProven;

    /// <summary>A train on this output, counted by this counter.</summary>
    public StepTrain(IStepOutput output, IPulseCounter counter, IClock clock)
    {
        _output = output;
        _counter = counter;
        _clock = clock;
    }

    /// <summary>Frequency now, Hz; 0 while the train is off.</summary>
    public int Hertz => _hertz;

    /// <summary>Position of the motor while the train runs, counts.</summary>
    public long Position => _estimateQ16 >> DriveProfile.FractionBits;

    /// <summary>The fault detected: a reason of <see cref="Fault"/>, or none.</summary>
    public int FaultReason { get; private set; }

    /// <summary>True when the counter has counted the program's pulses in this motion.</summary>
    public bool IsProven { get; private set; }

    /// <summary>True when the counter has not counted them: it is not wired.</summary>
    public bool IsMissing { get; private set; }

    /// <summary>A motion begins: the counter has to prove itself again.</summary>
    public void Reset()
    {
        FaultReason = Fault.None;
        IsProven = false;
        IsMissing = false;
        _provingPulses = 0;
        _count = _counter.ReadPulses();
    }

    /// <summary>Records a pulse that the program has made itself.</summary>
    public void RecordPulse()
    {
        _provingPulses++;
    }

    /// <summary>Compares the counter with the program's own pulses, once there are enough. One that has never counted
    /// since power-up is taken as not wired.</summary>
    public void Prove()
    {
        if (_provingPulses < ProvingPulses)
        {
            return;
        }

        IsProven = _counter.ReadPulses() - _count == _provingPulses;
        IsMissing = !IsProven;
        if (IsMissing && _wasProven)
        {
            FaultReason = Fault.StepCount;
        }

        _wasProven |= IsProven;
    }

    /// <summary>Starts the train forward from a position.</summary>
    public void Start(long position, int hertz)
    {
        _position = position;
        _estimateQ16 = position << DriveProfile.FractionBits;
        _count = _counter.ReadPulses();
        _sinceUs = _clock.NowMicroseconds;
        _readUs = _sinceUs;
        _sentQ16 = 0;
        _badReadings = 0;
        ResetWindow();
        SetHertz(hertz);
    }

    /// <summary>One pass: counts, and corrects the frequency.</summary>
    /// <param name="dueQ16">Position due at <paramref name="nowUs"/>, Q16 counts.</param>
    /// <param name="rateQ16PerSec">Rate due, Q16 counts a second.</param>
    /// <param name="nowUs">The board's clock at the start of the pass.</param>
    /// <param name="maxHertz">Highest frequency.</param>
    public void Follow(long dueQ16, long rateQ16PerSec, long nowUs, int maxHertz)
    {
        Advance();
        if (_sinceUs - _readUs < ReadIntervalUs || _sentQ16 < ReadAfterQ16 || !Read())
        {
            return;
        }

        // Half a count ahead: the count, which is a whole number, is then the due position rounded.
        dueQ16 += (rateQ16PerSec * (_sinceUs - nowUs) / 1000000) + (DriveProfile.OneCount / 2);
        long errorQ16 = dueQ16 - _estimateQ16;
        bool isNear = IsWithin(errorQ16, DriveProfile.OneCount);
        long correction = isNear ? errorQ16 : GainPerSec * errorQ16;
        long wanted = rateQ16PerSec + correction;
        long room = DriveProfile.OneCount
            + (isNear ? rateQ16PerSec / 128 : correction < 0 ? -correction / 2 : correction / 2);
        bool isCalm = !isNear || _sinceUs - _changedUs < CalmUs || IsWithin(errorQ16, DriveProfile.OneCount / 2);
        if (isCalm && IsWithin((_hertz * DriveProfile.OneCount) - wanted, room))
        {
            return;
        }

        long hertz = (wanted + (DriveProfile.OneCount / 2)) >> DriveProfile.FractionBits;

        // Never slower than half the rate due: a train that waits would not be counted for long.
        long min = (rateQ16PerSec >> (DriveProfile.FractionBits + 1)) + 1;
        SetHertz((int)(hertz < min ? min : hertz > maxHertz ? maxHertz : hertz));
    }

    /// <summary>Stops the train and returns the counted position.</summary>
    public long Stop()
    {
        Advance();
        SwitchOff();
        if (FaultReason == Fault.None && !Read())
        {
            FaultReason = Fault.StepCount;
        }

        return FaultReason == Fault.None ? _position : Position;
    }

    /// <summary>Returns and clears the fault detected.</summary>
    public int DequeueFault()
    {
        int reason = FaultReason;
        FaultReason = Fault.None;
        return reason;
    }

    /// <summary>Pulses that were on their way at <see cref="Stop"/>; a pass later.</summary>
    public long LatePulses()
    {
        long count = _counter.ReadPulses();
        long late = count - _count;
        _count = count;
        return late;
    }

    // False when the counter disagrees with what was sent; then nothing is taken over from it.
    private bool Read()
    {
        long count = _counter.ReadPulses();
        _readUs = _sinceUs;
        long offQ16 = ((count - _count) << DriveProfile.FractionBits) - _sentQ16;
        long tolerance = ToleranceQ16 + (_sentQ16 / 8) + (_hertz * DriveProfile.OneCount * LateReadingUs / 1000000);
        if (!IsWithin(offQ16, tolerance))
        {
            _badReadings++;
            return _badReadings < MaxBadReadings ? false : RaiseFault();
        }

        _badReadings = 0;
        _position += count - _count;
        _count = count;
        _windowOffQ16 += offQ16;
        _windowSentQ16 += _sentQ16;
        _sentQ16 = 0;
        long exact = _position << DriveProfile.FractionBits;
        _estimateQ16 = _estimateQ16 < exact ? exact
            : _estimateQ16 >= exact + DriveProfile.OneCount ? exact + DriveProfile.OneCount - 1 : _estimateQ16;
        return CheckWindow();
    }

    // A counter that misses or adds a few percent passes every single reading.
    private bool CheckWindow()
    {
        if (_sinceUs - _windowBeganUs < WindowUs)
        {
            return true;
        }

        bool good = IsWithin(
            _windowOffQ16, ((12 + _windowChanges) * DriveProfile.OneCount / 4) + (_windowSentQ16 / 64));
        ResetWindow();
        return good || RaiseFault();
    }

    private bool RaiseFault()
    {
        FaultReason = Fault.StepCount;
        SwitchOff();
        return false;
    }

    private void SwitchOff()
    {
        _hertz = 0;
        _output.RunAtHertz(0);
    }

    private void ResetWindow()
    {
        _windowBeganUs = _sinceUs;
        _windowOffQ16 = 0;
        _windowSentQ16 = 0;
        _windowChanges = 0;
    }

    private void Advance()
    {
        long now = _clock.NowMicroseconds;
        long sent = _hertz * DriveProfile.OneCount * (now - _sinceUs) / 1000000;
        _sinceUs = now;
        _estimateQ16 += sent;
        _sentQ16 += sent;
    }

    private void SetHertz(int hertz)
    {
        if (hertz == _hertz)
        {
            return;
        }

        Advance();
        _output.RunAtHertz(hertz);
        _hertz = hertz;
        _changedUs = _sinceUs;
        _windowChanges++;

        // The new period: the next count has begun where the output was low, else it begins again.
        long part = _estimateQ16 & (DriveProfile.OneCount - 1);
        long moved = part * 100 >= HighPercent * DriveProfile.OneCount ? DriveProfile.OneCount - part : -part;
        _estimateQ16 += moved;
        _sentQ16 += moved;
    }

    private static bool IsWithin(long value, long size) => value <= size && value >= -size;
}
