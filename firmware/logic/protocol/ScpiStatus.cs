// The status registers: IEEE 488.2 chapter 11, SCPI-1999 volume 1 chapters 4 and 9. The commands that read and write
// them are CommonCommands.cs and SystemCommands.cs.

using Hourhinge.Firmware.Control;
using Hourhinge.Firmware.Scpi;
using Hourhinge.Firmware.Storage;

namespace Hourhinge.Firmware.Protocol;

/// <summary>Event, enable and condition registers, and the operations that a peer waits for.</summary>
public sealed class ScpiStatus
{
    /// <summary>Bits of the OPERation condition register that SCPI leaves to the designer.</summary>
    public const int Tracking = 256, Rewinding = 512, EndOfTravel = 1024, Jogging = 2048;

    /// <summary>Bits of the QUEStionable condition register that SCPI leaves to the designer.</summary>
    public const int PositionUnknown = 512, NoProfile = 1024, InFault = 2048, StoredDataDamaged = 4096;

    private const int OperationComplete = 1;
    private const int PowerOn = 128;

    private readonly Controller _controller;
    private readonly StorageHealth _storage;
    private readonly ScpiErrors _errors;
    private int _event = PowerOn;
    private int _operationEvent;
    private int _operationBefore;
    private int _questionableEvent;
    private int _questionableBefore;
    private int _serviceEnable;
    private bool _completePending;
    private bool _answerPending;

    /// <summary>Reports on this controller.</summary>
    public ScpiStatus(Controller controller, StorageHealth storage, ScpiErrors errors)
    {
        _storage = storage;
        _controller = controller;
        _errors = errors;
    }

    /// <summary>Set while an answer is waiting.</summary>
    public bool MessageAvailable { get; set; }

    /// <summary>True when *OPC? is to be answered now.</summary>
    public bool AnswerOperationComplete { get; set; }

    /// <summary>True while *WAI or *OPC? holds the units that follow.</summary>
    public bool IsWaiting { get; private set; }

    /// <summary>Mask of the event register (*ESE).</summary>
    public int EventEnable { get; set; }

    /// <summary>Mask of the status byte (*SRE).</summary>
    public int ServiceEnable
    {
        get => _serviceEnable;
        set => _serviceEnable = value & ~64; // IEEE 488.2, 11.3.3: bit 6 does not exist
    }

    /// <summary>Mask of the OPERation register.</summary>
    public int OperationEnable { get; set; }

    /// <summary>Mask of the QUEStionable register.</summary>
    public int QuestionableEnable { get; set; }

    // Rewinding and jogging are overlapped commands; tracking is a state that lasts until it is ended.
    private bool HasPendingOperation =>
        _controller.State == ControllerState.Rewinding || _controller.State == ControllerState.Jogging;

    /// <summary>What the controller is doing, in bits.</summary>
    public int OperationCondition
    {
        get
        {
            switch (_controller.State)
            {
                case ControllerState.Tracking: return Tracking;
                case ControllerState.Rewinding: return Rewinding;
                case ControllerState.EndOfTravel: return EndOfTravel;
                case ControllerState.Jogging: return Jogging;
                default: return 0;
            }
        }
    }

    /// <summary>What is missing or wrong, in bits.</summary>
    public int QuestionableCondition =>
        (_controller.IsPositionKnown ? 0 : PositionUnknown)
        | (_controller.Profile == null ? NoProfile : 0)
        | (_controller.State == ControllerState.Fault ? InFault : 0)
        | (StorageIsDamaged ? StoredDataDamaged : 0);

    /// <summary>True when something that was stored could not be read back at power-up.</summary>
    public bool StorageIsDamaged => _storage.IsDamaged;

    /// <summary>The status byte (*STB?).</summary>
    public int StatusByte
    {
        get
        {
            _event |= _errors.DequeueEvents();
            int value = (_errors.Count > 0 ? 4 : 0)
                | ((_questionableEvent & QuestionableEnable) != 0 ? 8 : 0)
                | (MessageAvailable ? 16 : 0)
                | ((_event & EventEnable) != 0 ? 32 : 0)
                | ((_operationEvent & OperationEnable) != 0 ? 128 : 0);
            return value | ((value & ServiceEnable) != 0 ? 64 : 0);
        }
    }

    /// <summary>Records what has happened since the last update.</summary>
    public void Update()
    {
        int operation = OperationCondition;
        if (operation != _operationBefore)
        {
            _operationEvent |= operation & ~_operationBefore;
            _operationBefore = operation;
        }

        int questionable = QuestionableCondition;
        if (questionable != _questionableBefore)
        {
            _questionableEvent |= questionable & ~_questionableBefore;
            _questionableBefore = questionable;
        }

        if ((operation & (Rewinding | Jogging)) != 0)
        {
            return;
        }

        IsWaiting = false;
        if (_completePending)
        {
            _completePending = false;
            _event |= OperationComplete;
        }

        if (_answerPending)
        {
            _answerPending = false;
            AnswerOperationComplete = true;
        }
    }

    /// <summary>Clears the error queue and the event registers, and cancels a waiting *OPC (*CLS).</summary>
    public void Clear()
    {
        _errors.Clear();
        _event = 0;
        _operationEvent = 0;
        _questionableEvent = 0;
        CancelComplete();
    }

    /// <summary>Sets the operation complete bit once nothing is pending (*OPC).</summary>
    public void RequestComplete() => _completePending = true;

    /// <summary>True when *OPC? is to be answered now; otherwise it holds what follows, and
    /// <see cref="AnswerOperationComplete"/> says when.</summary>
    public bool RequestCompleteAnswer()
    {
        _answerPending = HasPendingOperation;
        IsWaiting = _answerPending;
        return !_answerPending;
    }

    /// <summary>Cancels a waiting *OPC, *OPC? and *WAI.</summary>
    public void CancelComplete()
    {
        _completePending = false;
        _answerPending = false;
        AnswerOperationComplete = false;
        IsWaiting = false;
    }

    /// <summary>Holds the units that follow until nothing is pending (*WAI).</summary>
    public void Wait() => IsWaiting = HasPendingOperation;

    /// <summary>Reads and clears the event register (*ESR?).</summary>
    public int ReadEvent()
    {
        _event |= _errors.DequeueEvents();
        return ReadAndClear(ref _event);
    }

    /// <summary>Reads and clears the OPERation event register.</summary>
    public int ReadOperationEvent() => ReadAndClear(ref _operationEvent);

    /// <summary>Reads and clears the QUEStionable event register.</summary>
    public int ReadQuestionableEvent() => ReadAndClear(ref _questionableEvent);

    private static int ReadAndClear(ref int register)
    {
        int value = register;
        register = 0;
        return value;
    }
}
