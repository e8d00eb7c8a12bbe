// A finished frame and what is true about it.

using Hourhinge.Starfield.Geometry;
using Hourhinge.Starfield.Scenes;

namespace Hourhinge.Starfield.Render;

/// <summary>
/// Where one star really was. Given for each: the star; the mean place of its light, px (weighted by transparency, the
/// spot a perfect centroid would find); from where to where it went, px; its expected electrons; whether its brightest
/// pixel is expected to fill the well.
/// </summary>
public readonly record struct StarTruth(
    SimulatedStar Star, PixelPoint Mean, double TrailX, double TrailY, double Electrons, bool Saturated);

/// <summary>One exposure. Pixels row by row from the top, as the sensor stores them.</summary>
public sealed record RenderedFrame
{
    /// <summary>Number in the sequence, from 0.</summary>
    public required int Index { get; init; }

    /// <summary>The scene it was taken of.</summary>
    public required Scene Scene { get; init; }

    /// <summary>The lens it was taken through.</summary>
    public required Lens Lens { get; init; }

    /// <summary>Start, seconds since the scene's start.</summary>
    public required double StartSeconds { get; init; }

    /// <summary>Exposure, seconds.</summary>
    public required double ExposureSeconds { get; init; }

    /// <summary>Stored numbers, width x height.</summary>
    public required ReadOnlyMemory<ushort> Pixels { get; init; }

    /// <summary>True places of the stars whose mean place is on the sensor, brightest first.</summary>
    public required IReadOnlyList<StarTruth> Truth { get; init; }

    /// <summary>Electrons of sky and dark current expected in every pixel.</summary>
    public required double BackgroundElectrons { get; init; }

    /// <summary>True start, UTC.</summary>
    public DateTime StartUtc => Scene.StartUtc.AddTicks((long)Math.Round(StartSeconds * TimeSpan.TicksPerSecond));
}
