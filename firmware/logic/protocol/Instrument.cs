// The protocol: bytes in, commands executed, answers out. Every command and query is listed in firmware/PROTOCOL.md.

using Hourhinge.Firmware.Control;
using Hourhinge.Firmware.Hardware;
using Hourhinge.Firmware.Scpi;
using Hourhinge.Firmware.Storage;
using Hourhinge.SharedMath.Profile;

namespace Hourhinge.Firmware.Protocol;

/// <summary>
/// An IEEE 488.2 instrument with SCPI-1999 syntax. In a pass it reads a bounded number of bytes and executes at most
/// one program message unit, so that a busy peer delays a step by no more than one short command. Bytes are read while
/// a message is executed or held, so that ABORt is always heard.
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
    // A query waits this long for a peer that reads; then its answer is dropped.
    private const long PatienceUs = 1000000;

    private readonly Controller _controller;
    private readonly byte[] _input = new byte[BytesPerUpdate];
    private int _connections;
    private bool _executing;
    private bool _headerRead;
    private bool _answered;
    private bool _answerLost;
    private bool _answersEnded;
    private bool _peerReads = true;
    private long _fullSinceUs = -1;

    /// <summary>Serves a link with these command sets; the first set whose header matches executes.</summary>
    public Instrument(IByteLink link, IClock clock, Controller controller, StorageHealth storage,
        CommandSet[] sets)
    {
        _link = link;
        _clock = clock;
        _receiver = new ScpiReceiver(_errors);
        _message = new ScpiMessage(_errors);
        _controller = controller;
        _connections = link.Connections;
        _status = new ScpiStatus(controller, storage, _errors);
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
        long now = _clock.NowMicroseconds;
        if (_link.Connections != _connections)
        {
            _connections = _link.Connections;
            Forget();
        }

        int waiting = _out.Count;
        _out.Drain(_link, BytesPerUpdate);
        _peerReads |= _out.Count < waiting;
        _status.Update();
        Receive(now);
        if (!_executing && _receiver.HasMessage)
        {
            _message.Begin(_receiver.Bytes, _receiver.MessageBytes);
            _executing = true;
            _headerRead = false;
            _answered = false;
            _answerLost = false;
            _answersEnded = false;
        }

        if (_executing)
        {
            ExecuteUnit(now);
        }

        // It stops the motor before its turn comes, and undoes what the units before it start.
        if (_receiver.AbortWaits)
        {
            _controller.Abort();
        }
    }

    /// <summary>Every command set returns to the state that *RST documents.</summary>
    public void Reset()
    {
        for (int i = 0; i < _sets.Length; i++)
        {
            _sets[i].Reset();
        }
    }

    /// <summary>No further query may follow in this message (IEEE 488.2, 6.5.7.5: after an answer of arbitrary
    /// length).</summary>
    public void EndAnswers() => _answersEnded = true;

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
        if (_answerLost)
        {
            return false;
        }

        if (_out.Free < bytes + 2)
        {
            _answerLost = true;
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

    // A new peer: nothing of the last one is executed, and nothing of it is answered.
    private void Forget()
    {
        _receiver.Clear();
        _out.Clear();
        _message.Abandon();
        _executing = false;
        _status.MessageAvailable = false;
        _status.CancelComplete();
    }

    // The peer forgets what it or an earlier one has sent. An ABORt among it is still executed.
    private void ClearDevice()
    {
        if (_receiver.AbortWaits || (_receiver.HoldsAbort && !_executing))
        {
            _controller.Abort();
        }

        Forget();
    }

    private void Receive(long now)
    {
        int count = _link.Read(_input, 0, BytesPerUpdate);
        if (count <= 0)
        {
            _receiver.CheckSilence(now);
        }

        for (int i = 0; i < count; i++)
        {
            if (_receiver.Add(_input[i], now))
            {
                ClearDevice();
            }
        }
    }

    private void ExecuteUnit(long now)
    {
        if (_status.IsWaiting)
        {
            return;
        }

        if (_status.AnswerOperationComplete)
        {
            _status.AnswerOperationComplete = false;
            Answer("1");
        }
        else if ((_headerRead || _message.HasMore) && !ExecuteNext(now))
        {
            return;
        }

        if (!_message.HasMore && !_status.IsWaiting)
        {
            if (_answered)
            {
                _out.Add((byte)'\n');
            }

            _status.MessageAvailable = false;
            _executing = false;
            _receiver.Remove();
        }
    }

    // False while a query waits for room.
    private bool ExecuteNext(long now)
    {
        if (!_headerRead)
        {
            UnitsExecuted++;
            if (!_message.NextHeader())
            {
                return true;
            }

            _headerRead = true;
        }

        if (_message.IsQuery && MayWaitForRoom(now))
        {
            return false;
        }

        _headerRead = false;
        if (_message.IsQuery && _answersEnded)
        {
            _errors.Add(ScpiErrors.AfterIndefinite, _message.HeaderText() + "?");
            _message.Abandon();
            return true;
        }

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

        return true;
    }

    // A query waits until the longest answer fits, but only for a peer that reads, and not for long.
    private bool MayWaitForRoom(long now)
    {
        if (_out.Count == 0 || _out.Free >= ProfileCodec.MaxBytes + 64 || !_peerReads)
        {
            _fullSinceUs = -1;
            return false;
        }

        _fullSinceUs = _fullSinceUs < 0 ? now : _fullSinceUs;
        if (now - _fullSinceUs < PatienceUs)
        {
            return true;
        }

        _fullSinceUs = -1;
        _peerReads = false;
        return false;
    }
}
