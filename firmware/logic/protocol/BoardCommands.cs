// The BOARd subsystem: the board's own limits, which no profile exceeds.

using Hourhinge.Firmware.Control;
using Hourhinge.Firmware.Guards;
using Hourhinge.Firmware.Scpi;
using Hourhinge.Firmware.Storage;
using Hourhinge.SharedMath.Profile;

namespace Hourhinge.Firmware.Protocol;

/// <summary>Edits a copy of the limits; BOARd:SAVE stores it and puts it in force.</summary>
public sealed class BoardCommands : CommandSet
{
    private const int Rate = 0, Travel = 1, Home = 2, End = 3, SaveLimits = 4, Changed = 5;

    private static readonly CommandRow[] _rows =
    {
        new CommandRow(":BOARd:RATE", CommandRow.Both, Rate, "fastest speed in counts/s", 0, 1, BoardLimits.MaxRate,
            BoardLimits.MaxRate, "no profile may drive faster"),
        new CommandRow(":BOARd:TRAVel", CommandRow.Both, Travel, "longest travel in counts", 0, 1,
            ProfileSafety.MaxCounts, ProfileSafety.MaxCounts, "no profile may have a longer travel"),
        new CommandRow(":BOARd:SWITch:HOME", CommandRow.Both, Home, "home switch", 0, 0, 1, 0,
            "on: the home switch is read even when the profile says that there is none"),
        new CommandRow(":BOARd:SWITch:END", CommandRow.Both, End, "end switch", 0, 0, 1, 0,
            "on: the end switch is read even when the profile says that there is none"),
        new CommandRow(":BOARd:SAVE", CommandRow.Command, SaveLimits, "",
            "stores the edited limits and puts them in force. -221 while moving and when the profile in use exceeds "
            + "them, -320 when flash cannot be written"),
        new CommandRow(":BOARd:CHANged", CommandRow.Query, Changed, "", "1 while edited limits wait, else 0"),
    };

    private readonly BoardStore _board;
    private readonly ProfileStore _store;
    private readonly Controller _controller;
    private readonly ProfileChange _change;
    private BoardLimits _edited;

    /// <summary>Edits the limits in this store.</summary>
    public BoardCommands(BoardStore board, ProfileStore store, Controller controller, ProfileChange change)
        : base(_rows)
    {
        _board = board;
        _store = store;
        _controller = controller;
        _change = change;
    }

    /// <inheritdoc/>
    public override void Reset() => _edited = null;

    /// <inheritdoc/>
    protected override void Query(CommandRow row)
    {
        BoardLimits limits = _edited ?? _board.Limits;
        switch (row.Handler)
        {
            case Rate:
                Answer(limits.RateCountsPerSec.ToString());
                break;
            case Travel:
                Answer(limits.TravelCounts.ToString());
                break;
            case Home:
                Answer(limits.HomeFitted ? "1" : "0");
                break;
            case End:
                Answer(limits.EndFitted ? "1" : "0");
                break;
            default:
                Answer(_edited == null ? "0" : "1");
                break;
        }
    }

    /// <inheritdoc/>
    protected override void Command(CommandRow row)
    {
        long value = 0;
        if (row.Range != null ? !TryParse(row, out value) : !Message.EndUnit())
        {
            return;
        }

        if (row.Handler == SaveLimits)
        {
            Save();
            return;
        }

        _edited ??= _board.Limits.Copy();
        switch (row.Handler)
        {
            case Rate:
                _edited.RateCountsPerSec = (int)value;
                break;
            case Travel:
                _edited.TravelCounts = value;
                break;
            case Home:
                _edited.HomeFitted = value == 1;
                break;
            default:
                _edited.EndFitted = value == 1;
                break;
        }
    }

    private void Save()
    {
        if (_controller.IsMoving)
        {
            Report("moving: ABORt before changing the board's limits");
            return;
        }

        if (_edited == null)
        {
            Report("nothing has been changed");
            return;
        }

        string error = _store.Profile == null ? null : _edited.Error(_store.Profile);
        if (error != null)
        {
            Report(error);
        }
        else if (!_board.Save(_edited))
        {
            Errors.Add(ScpiErrors.StorageFault, "the board's limits could not be written to flash");
        }
        else
        {
            _edited = null;
            _store.DecodeAgain();
            _change.UseStored();
        }
    }
}
