// The hard limits. The drives check them before every step and every duty.

using Hourhinge.Firmware.Hardware;
using Hourhinge.SharedMath.Profile;

namespace Hourhinge.Firmware.Guards;

/// <summary>Home and end switch. Each is read only when the profile says that it is fitted.</summary>
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

    /// <summary>Applies which switches a profile declares as fitted.</summary>
    public void Configure(DriveProfile profile)
    {
        HomeFitted = profile.Has(DriveProfile.HomeSwitchFitted);
        EndFitted = profile.Has(DriveProfile.EndSwitchFitted);
    }
}
