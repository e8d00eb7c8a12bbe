// What goes wrong in the field, on request: cloud, a plane, a bump on the tripod, a lens changed on the way.

namespace Hourhinge.Starfield.Scenes;

/// <summary>Transparency of the air against time. Given: seconds since the start. Returned: 0 (overcast) to
/// 1.</summary>
public delegate double Transparency(double tSeconds);

/// <summary>
/// A plane's light that crosses the picture: from the first point to the second one between two moments. Pixels as in
/// the truth file; brightness is what it leaves per pixel of its way.
/// </summary>
public sealed record PlaneTrail(
    double FromSeconds, double ToSeconds, double FromX, double FromY, double ToX, double ToY, double ElectronsPerPx);

/// <summary>
/// A bump that turns tripod, hinge and camera together at one moment and for good: clockwise in azimuth, and a tilt
/// that raises the north side.
/// </summary>
public sealed record TripodBump(double AtSeconds, double AzimuthArcmin, double NorthUpArcmin);

/// <summary>Another lens (or zoom setting) from one moment on.</summary>
public sealed record LensChange(double AtSeconds, Lens Lens);

/// <summary>All disturbances of a scene; none by default.</summary>
public sealed record Disturbances
{
    /// <summary>Nothing goes wrong.</summary>
    public static Disturbances None { get; } = new();

    /// <summary>Cloud, or null for a clear night. It dims the stars; the sky's own light is left as it was.</summary>
    public Transparency? Cloud { get; init; }

    /// <summary>Planes.</summary>
    public IReadOnlyList<PlaneTrail> Planes { get; init; } = Array.Empty<PlaneTrail>();

    /// <summary>Bumps of the tripod.</summary>
    public IReadOnlyList<TripodBump> Bumps { get; init; } = Array.Empty<TripodBump>();

    /// <summary>Lens changes, in order of time.</summary>
    public IReadOnlyList<LensChange> LensChanges { get; init; } = Array.Empty<LensChange>();
}
