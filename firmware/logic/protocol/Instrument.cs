// The protocol: bytes in, commands executed, answers out. Every command and query is listed in firmware/PROTOCOL.md.

using Hourhinge.Firmware.Control;
using Hourhinge.Firmware.Hardware;
using Hourhinge.Firmware.Scpi;
using Hourhinge.SharedMath.Profile;

namespace Hourhinge.Firmware.Protocol;

/// <summary>
/// An IEEE 488.2 instrument with SCPI-1999 syntax. In a pass it reads a bounded number of bytes and executes at most
/// one program message unit, so that a busy peer delays a step by no more than one short command.
/// </summary>
public sealed class Instrument
{
    /// <summary>Largest number of bytes read from the link, and written to it, in one pass.</summary>
    public const int BytesPerUpdate = 64;

    private readonly IByteLink _link;
    private readonly IClock _clock;
    private readonly ScpiReceiver _receiver;
    private readonly ScpiMessage _message;
    private readonly ScpiErrors _errors = new ScpiErrors();
    private readonly ResponseBuffer _out = new ResponseBuffer();
    private readonly ScpiStatus _status;
    private readonly CommandSet[] _sets;
    private readonly byte[] _input = new byte[BytesPerUpdate];
    private int _inputCount;
    private int _inputAt;
    private bool _executing;
    private bool _answered;

    /// <summary>Serves a link with these command sets; the first set whose header matches executes.</summary>
    public Instrument(IByteLink link, IClock clock, Controller controller, CommandSet[] sets)
    {
        _link = link;
        _clock = clock;
        _receiver = new ScpiReceiver(_errors);
        _message = new ScpiMessage(_errors);
        _status = new ScpiStatus(controller, _errors);
        _sets = new CommandSet[sets.Length + 2];
        _sets[0] = new CommonCommands(_status, controller);
        _sets[1] = new SystemCommands(_status);
        System.Array.Copy(sets, 0, _sets, 2, sets.Length);
        for (int i = 0; i < _sets.Length; i++)
        {
            _sets[i].Attach(this, _message, _errors);
        }
    }

    /// <summary>Every command set, the standard's own included.</summary>
    public CommandSet[] Sets => _sets;

    /// <summary>Status registers of the standard.</summary>
    public ScpiStatus Status => _status;

    /// <summary>The error queue.</summary>
    public ScpiErrors Errors => _errors;

    /// <summary>Program message units executed since power-up, good or bad.</summary>
    public long UnitsExecuted { get; private set; }

    /// <summary>Every row of every set, one header a line, for SYSTem:HELP:HEADers?.</summary>
    public byte[] HelpHeaders()
    {
        // Counted first: on the controller a growing string would leave a hundred copies on the heap.
        int length = 0;
        for (int i = 0; i < _sets.Length; i++)
        {
            for (int row = 0; row < _sets[i].Rows.Length; row++)
            {
                length += _sets[i].Rows[row].HelpLine.Length;
            }
        }

        byte[] bytes = new byte[length];
        int at = 0;
        for (int i = 0; i < _sets.Length; i++)
        {
            for (int row = 0; row < _sets[i].Rows.Length; row++)
            {
                string line = _sets[i].Rows[row].HelpLine;
                for (int c = 0; c < line.Length; c++)
                {
                    bytes[at++] = (byte)line[c];
                }
            }
        }

        return bytes;
    }

    /// <summary>One pass: a few bytes in, one unit executed, a few bytes out.</summary>
    public void Update()
    {
        _out.Drain(_link, BytesPerUpdate);
        _status.Update();
        // Never into the middle of another answer.
        if (_status.AnswerOperationComplete && !_executing && _out.Free > 2)
        {
            _status.AnswerOperationComplete = false;
            _out.Add("1\n");
        }

        if (_executing)
        {
            ExecuteUnit();
            return;
        }

        if (_inputAt == _inputCount)
        {
            _inputAt = 0;
            _inputCount = _link.Read(_input, 0, BytesPerUpdate);
            if (_inputCount <= 0)
            {
                _inputCount = 0;
                _receiver.CheckSilence(_clock.NowMicroseconds);
                return;
            }
        }

        long now = _clock.NowMicroseconds;
        while (_inputAt < _inputCount && !_executing)
        {
            if (_receiver.Add(_input[_inputAt++], now))
            {
                _message.Begin(_receiver.Bytes, _receiver.Count);
                _executing = _message.HasMore;
                _answered = false;
                if (!_executing)
                {
                    _receiver.Reset();
                }
            }
        }
    }

    /// <summary>Answers a query with text.</summary>
    public void Answer(string text)
    {
        if (BeginAnswer(text.Length))
        {
            _out.Add(text);
        }
    }

    /// <summary>Answers a query with a definite-length block.</summary>
    public void AnswerBlock(byte[] bytes)
    {
        if (BeginAnswer(bytes.Length + 11))
        {
            _out.AddBlock(bytes);
        }
    }

    private bool BeginAnswer(int bytes)
    {
        if (_out.Free < bytes + 2)
        {
            _errors.Add(ScpiErrors.QueueOverflow, "the peer does not read its answers");
            return false;
        }

        if (_answered)
        {
            _out.Add((byte)';');
        }

        _answered = true;
        _status.MessageAvailable = true;
        return true;
    }

    private void ExecuteUnit()
    {
        // *WAI holds everything that follows until the rewind or jog is over.
        if (_status.IsWaiting)
        {
            return;
        }

        // Wait until the buffer can hold the longest answer.
        if (_out.Count > 0 && _out.Free < ProfileCodec.MaxBytes + 64)
        {
            return;
        }

        UnitsExecuted++;
        if (_message.NextHeader())
        {
            bool known = false;
            for (int i = 0; i < _sets.Length && !known; i++)
            {
                known = _sets[i].Execute();
            }

            if (!known)
            {
                _errors.Add(ScpiErrors.UndefinedHeader,
                    _message.HeaderText() + (_message.IsQuery ? "?" : string.Empty));
                _message.Abandon();
            }
        }

        if (!_message.HasMore)
        {
            if (_answered)
            {
                _out.Add((byte)'\n');
            }

            _status.MessageAvailable = false;
            _executing = false;
            _receiver.Reset();
        }
    }
}
