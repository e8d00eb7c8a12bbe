// A scene: everything that decides what a frame shows. Rendering it is render/FrameRenderer.cs.

using Hourhinge.Numerics;

namespace Hourhinge.Starfield.Scenes;

/// <summary>One night's set-up, from the stars to the disturbances. t = 0 is <see cref="StartUtc"/>.</summary>
public sealed record Scene
{
    /// <summary>UTC of t = 0.</summary>
    public required DateTime StartUtc { get; init; }

    /// <summary>Where it stands.</summary>
    public required SimulatedSite Site { get; init; }

    /// <summary>What the hinge does.</summary>
    public required HingeMount Mount { get; init; }

    /// <summary>Where the camera looks at t = 0.</summary>
    public required Pointing Pointing { get; init; }

    /// <summary>The lens on the camera at t = 0.</summary>
    public required Lens Lens { get; init; }

    /// <summary>The sensor.</summary>
    public required Sensor Sensor { get; init; }

    /// <summary>Stars, in coordinates of date; those outside the picture do no harm.</summary>
    public required IReadOnlyList<SimulatedStar> Stars { get; init; }

    /// <summary>Sky brightness and seeing.</summary>
    public SimulatedSky Sky { get; init; } = new();

    /// <summary>Refraction, or null for an airless sky.</summary>
    public RefractionModel? Refraction { get; init; } = new();

    /// <summary>What goes wrong.</summary>
    public Disturbances Disturbances { get; init; } = Disturbances.None;

    /// <summary>Seed of noise and hot pixels: same seed, same picture, on any number of cores.</summary>
    public ulong Seed { get; init; } = 1;

    /// <summary>The lens that is on the camera at t seconds.</summary>
    public Lens LensAt(double tSeconds) =>
        Disturbances.LensChanges.LastOrDefault(c => c.AtSeconds <= tSeconds)?.Lens ?? Lens;

    /// <summary>Arcseconds per pixel on the axis, at t seconds.</summary>
    public double ScaleArcsecPerPx(double tSeconds) =>
        new Angle(Sensor.PixelPitchMicrometres / 1000 / LensAt(tSeconds).FocalLengthMm).Arcseconds;
}
