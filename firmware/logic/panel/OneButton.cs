// Executes the actions of ButtonTable.cs. Debouncing and gestures are GestureSource.cs.

using Hourhinge.Firmware.Control;

namespace Hourhinge.Firmware.Panel;

/// <summary>Dequeues one gesture in each pass, executes its action and shows the result on the LED.</summary>
public sealed class OneButton
{
    private readonly IGestureSource _source;
    private readonly Controller _controller;
    private readonly StatusLight _light;

    /// <summary>Reads this button, which may be null where none is fitted.</summary>
    public OneButton(IGestureSource source, Controller controller, StatusLight light)
    {
        _source = source;
        _controller = controller;
        _light = light;
    }

    /// <summary>One pass of the loop.</summary>
    public void Poll()
    {
        int gesture = _source == null ? Gesture.None : _source.Dequeue();
        if (gesture != Gesture.None)
        {
            Execute(ButtonTable.Action(ButtonTable.RowOf(_controller), gesture));
        }
    }

    private void Execute(int action)
    {
        string error = null;
        switch (action)
        {
            case ButtonTable.Start:
                error = _controller.Start(false);
                break;
            case ButtonTable.Stop:
            case ButtonTable.ClearFault:
                _controller.Abort();
                break;
            case ButtonTable.Rewind:
                error = RewindOrDeclare();
                break;
            case ButtonTable.BlinkMinutes:
                _light.BlinkNumber(_controller.RemainingUs / 60000000);
                break;
            case ButtonTable.BlinkFault:
                _light.BlinkNumber(_controller.FaultReason);
                break;
            case ButtonTable.Reject:
                error = "refused";
                break;
        }

        if (error != null)
        {
            _light.BlinkRejection();
        }
    }

    // Where the motor cannot rewind (one transistor, or unknown position without a home switch) the user turns the
    // hinge back by hand, and a hold declares the start.
    private string RewindOrDeclare()
    {
        if (_controller.CanRewind)
        {
            return _controller.Rewind();
        }

        _controller.Abort();
        return _controller.DeclarePosition(0);
    }
}
