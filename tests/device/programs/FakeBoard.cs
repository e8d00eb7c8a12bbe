// The firmware's own hardware interfaces without hardware, in integers, so that both sides compute the same.

#nullable disable

using Hourhinge.Firmware.Hardware;

namespace Hourhinge.DeviceTests.Programs;

/// <summary>Virtual time; a reading takes 20 µs, so that a loop that waits for the clock ends.</summary>
public sealed class FakeClock : IClock
{
    /// <summary>The time, µs.</summary>
    public long Us;

    /// <inheritdoc/>
    public long NowMicroseconds => Us += 20;
}

/// <summary>A stepper that follows every pulse.</summary>
public sealed class FakeStepper : IStepOutput, IPulseCounter
{
    private readonly FakeClock _clock;
    private bool _enabled;
    private bool _forward;
    private int _hertz;
    private long _runUs;
    private long _runRest;
    private long _counted;

    /// <summary>A motor at rest.</summary>
    public FakeStepper(FakeClock clock)
    {
        _clock = clock;
    }

    /// <summary>Position, microsteps.</summary>
    public long Position;

    /// <summary>Pulses that moved the motor.</summary>
    public long Pulses;

    /// <summary>True while the pulses are counted back.</summary>
    public bool IsWired;

    /// <summary>Frequency of the train, Hz.</summary>
    public int Hertz => _hertz;

    /// <inheritdoc/>
    public void SetEnabled(bool on) => _enabled = on;

    /// <inheritdoc/>
    public void SetDirection(bool forward) => _forward = forward;

    /// <inheritdoc/>
    public void Pulse() => Move(1);

    /// <inheritdoc/>
    public void RunAtHertz(int stepsPerSec)
    {
        UpdateRun();
        _hertz = stepsPerSec;
    }

    /// <inheritdoc/>
    public long ReadPulses()
    {
        UpdateRun();
        return _counted;
    }

    /// <summary>Moves by the pulses that a hardware train has made since the last call.</summary>
    public void UpdateRun()
    {
        _runRest += (_clock.Us - _runUs) * _hertz;
        _runUs = _clock.Us;
        Move(_runRest / 1000000);
        _runRest %= 1000000;
    }

    private void Move(long steps)
    {
        _counted += IsWired ? steps : 0;
        if (_enabled)
        {
            Pulses += steps;
            Position += _forward ? steps : -steps;
        }
    }
}

/// <summary>A DC motor whose speed is proportional to its duty, and its encoder.</summary>
public sealed class FakeDcMotor : IPwmOutput, IEncoder
{
    private readonly FakeClock _clock;
    private int _duty;
    private long _lastUs;
    private long _rest;
    private long _counts;

    /// <summary>A motor at rest.</summary>
    public FakeDcMotor(FakeClock clock)
    {
        _clock = clock;
    }

    /// <summary>Speed at full duty, counts a second.</summary>
    public long FullSpeed = 2000;

    /// <inheritdoc/>
    public long Counts
    {
        get
        {
            Update();
            return _counts;
        }
    }

    /// <inheritdoc/>
    public void SetDutyPerTenThousand(int duty)
    {
        Update();
        _duty = duty;
    }

    private void Update()
    {
        _rest += (_clock.Us - _lastUs) * _duty * FullSpeed / 10000;
        _lastUs = _clock.Us;
        _counts += _rest / 1000000;
        _rest %= 1000000;
    }
}

/// <summary>A switch that closes at a position of the motor, or a button that a program presses.</summary>
public sealed class FakeInput : IInputPin
{
    private readonly FakeBoard _board;
    private readonly bool _isEnd;

    /// <summary>A button.</summary>
    public FakeInput()
    {
    }

    /// <summary>A home or an end switch.</summary>
    public FakeInput(FakeBoard board, bool isEnd)
    {
        _board = board;
        _isEnd = isEnd;
    }

    /// <summary>True while a button is held.</summary>
    public bool IsHeld;

    /// <inheritdoc/>
    public bool IsActive => _board == null ? IsHeld
        : _isEnd ? _board.Carriage >= _board.EndAt : _board.Carriage <= 0;
}

/// <summary>An output that counts how often it was switched on.</summary>
public sealed class FakeOutput : IOutputPin
{
    private bool _on;

    /// <summary>Times switched on.</summary>
    public int Count;

    /// <inheritdoc/>
    public void Set(bool on)
    {
        Count += on && !_on ? 1 : 0;
        _on = on;
    }
}

/// <summary>A full pack.</summary>
public sealed class FakeSupply : ISupplyMeter
{
    /// <summary>Its voltage, mV.</summary>
    public int Millivolts = 6000;

    /// <inheritdoc/>
    public int ReadMillivolts() => Millivolts;
}

/// <summary>Two areas of flash; the power can fail before a byte.</summary>
public sealed class FakeFlash : IStorage
{
    private readonly byte[][] _areas = new byte[][] { new byte[12288], new byte[12288] };

    /// <summary>Bytes that are written before the power fails; negative for never.</summary>
    public int CutAfter = -1;

    /// <summary>Bytes written.</summary>
    public int Written;

    /// <summary>True once the power has failed: nothing is written any more.</summary>
    public bool IsCut => CutAfter >= 0 && Written >= CutAfter;

    /// <inheritdoc/>
    public int AreaSizeBytes => 12288;

    /// <inheritdoc/>
    public int Read(int area, int offset, byte[] buffer, int index, int count)
    {
        System.Array.Copy(_areas[area], offset, buffer, index, count);
        return count;
    }

    /// <inheritdoc/>
    public bool Write(int area, int offset, byte[] buffer, int index, int count)
    {
        for (int i = 0; i < count && !IsCut; i++)
        {
            _areas[area][offset + i] = buffer[index + i];
            Written++;
        }

        return !IsCut;
    }

    /// <summary>Takes over another flash's contents.</summary>
    public void CopyFrom(FakeFlash other)
    {
        System.Array.Copy(other._areas[0], 0, _areas[0], 0, AreaSizeBytes);
        System.Array.Copy(other._areas[1], 0, _areas[1], 0, AreaSizeBytes);
    }
}

/// <summary>A line in memory; the peer reads everything at once.</summary>
public sealed class FakeLink : IByteLink
{
    private readonly byte[] _sent = new byte[8192];
    private readonly byte[] _answer = new byte[16384];
    private int _sentCount;
    private int _readAt;

    /// <summary>Peers that have connected: one, and it stays.</summary>
    public int Connections => 1;

    /// <summary>Bytes of the answer.</summary>
    public int AnswerCount { get; private set; }

    /// <summary>True while the controller has bytes to read.</summary>
    public bool HasUnread => _readAt < _sentCount;

    /// <summary>Check sum of the answer.</summary>
    public uint AnswerCrc => SharedMath.Profile.Crc32.Of(_answer, 0, AnswerCount);

    /// <inheritdoc/>
    public int Read(byte[] buffer, int index, int count)
    {
        int left = _sentCount - _readAt;
        count = count < left ? count : left;
        System.Array.Copy(_sent, _readAt, buffer, index, count);
        _readAt += count;
        return count;
    }

    /// <inheritdoc/>
    public int Write(byte[] buffer, int index, int count)
    {
        int room = _answer.Length - AnswerCount;
        count = count < room ? count : room;
        System.Array.Copy(buffer, index, _answer, AnswerCount, count);
        AnswerCount += count;
        return count;
    }

    /// <summary>The peer sends bytes.</summary>
    public void Send(byte[] bytes)
    {
        _readAt = 0;
        _sentCount = bytes.Length;
        System.Array.Copy(bytes, 0, _sent, 0, bytes.Length);
    }

    /// <summary>The peer has read everything.</summary>
    public void Clear() => AnswerCount = 0;

    /// <summary>The answer as text on one line; a long one as its length and check sum.</summary>
    public string AnswerText()
    {
        if (AnswerCount > 100)
        {
            return AnswerCount + " bytes " + AnswerCrc;
        }

        char[] text = new char[AnswerCount];
        for (int i = 0; i < AnswerCount; i++)
        {
            text[i] = _answer[i] < 32 || _answer[i] > 126 ? '|' : (char)_answer[i];
        }

        return new string(text);
    }
}
