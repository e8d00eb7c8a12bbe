using System.Globalization;
using Hourhinge.App.Common;
using Hourhinge.Numerics;
using Hourhinge.Rig;
using Hourhinge.Sky.Observing;
using Hourhinge.Sky.Places;
using Hourhinge.Sky.Time;

namespace Hourhinge.App.Night;

/// <summary>What the user asked for: targets, evening, site, lowest useful altitude, clock.</summary>
internal sealed record NightRequest(SkyTarget[] Targets, DateOnly Evening, Site Site, string SiteName, Angle Altitude,
    SiteClock Zone)
{
    /// <summary>Air at the site, for refraction.</summary>
    public Air Air => Air.AtHeight(Site.HeightM);

    /// <summary>A moment on the clock that was asked for.</summary>
    public string Clock(Instant t) => Zone.Local(t.ToUtc()).ToString("HH:mm", CultureInfo.InvariantCulture);

    /// <summary>A moment for programs.</summary>
    public static string Iso(Instant t) => t.ToUtc().ToString("yyyy-MM-ddTHH:mm:ssZ", CultureInfo.InvariantCulture);
}
