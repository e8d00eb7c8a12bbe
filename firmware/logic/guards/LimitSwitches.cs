// The hard limits. The drive looks here before every step, so no command can move past a closed switch.

using Hourhinge.Firmware.Hardware;
using Hourhinge.SharedMath.Profile;

namespace Hourhinge.Firmware.Guards;

/// <summary>Home and end switch, each of which counts only when the profile says that it is fitted.</summary>
public sealed class LimitSwitches
{
    private readonly IInputPin _home;
    private readonly IInputPin _end;

    /// <summary>Reads these pins.</summary>
    public LimitSwitches(IInputPin home, IInputPin end)
    {
        _home = home;
        _end = end;
    }

    /// <summary>True when a home switch is fitted.</summary>
    public bool HomeFitted { get; private set; }

    /// <summary>True when an end switch is fitted.</summary>
    public bool EndFitted { get; private set; }

    /// <summary>True at the start of the travel: no step backward.</summary>
    public bool AtHome => HomeFitted && _home.IsActive;

    /// <summary>True at the end of the travel: no step forward.</summary>
    public bool AtEnd => EndFitted && _end.IsActive;

    /// <summary>Takes over what a profile says is fitted.</summary>
    public void Configure(DriveProfile profile)
    {
        HomeFitted = profile.Has(DriveProfile.HomeSwitchFitted);
        EndFitted = profile.Has(DriveProfile.EndSwitchFitted);
    }
}
