using Hourhinge.SharedMath.Geometry;

namespace Hourhinge.Planning;

/// <summary>
/// How deep a stack of frames goes. Signal and noise by the CCD equation (S. B. Howell, Handbook of CCD Astronomy,
/// 2nd ed., eq. 4.4; from memory): signal grows with time, noise with its square root, so the depth of a stack goes
/// with the square root of the number of frames once each frame is limited by the sky and not by read noise.
/// </summary>
/// <param name="FocalRatio">Focal ratio, 0.9 to 64.</param>
/// <param name="FocalMm">Focal length, mm.</param>
/// <param name="PixelUm">Pixel pitch, µm.</param>
/// <param name="ReadNoiseElectrons">Read noise, electrons RMS.</param>
/// <param name="SkyMagPerArcsec2">Sky brightness, V magnitudes per square arcsecond.</param>
/// <param name="Throughput">Share of photons that become electrons: lens, filters, quantum efficiency.</param>
public sealed record StackDepth(
    double FocalRatio, double FocalMm, double PixelUm, double ReadNoiseElectrons, double SkyMagPerArcsec2,
        double Throughput)
{
    /// <summary>
    /// Photons a second and square metre from V = 0: 3640 Jy, dλ/λ = 0.16, 1.51e7 photons/s/m² per Jy of dλ/λ
    /// (Bessell 1979, PASP 91, 589; from memory).
    /// </summary>
    public const double PhotonsPerSecM2 = 3640 * 0.16 * 1.51e7;

    /// <summary>Electrons a second on one pixel from a surface of some magnitude per square arcsecond.</summary>
    public double ElectronsPerSec(double magPerArcsec2)
    {
        double aperture = Math.PI / 4 * Math.Pow(FocalMm / FocalRatio / 1000, 2);
        double pixelArcsec = PixelUm / 1000 / FocalMm * AngleUnits.ArcsecPerRad;
        return PhotonsPerSecM2 * Math.Pow(10, -0.4 * magPerArcsec2) * pixelArcsec * pixelArcsec * aperture * Throughput;
    }

    /// <summary>
    /// Exposure from which read noise adds no more than a share to the noise of the sky: sky·t + R² = sky·t (1 + p)²,
    /// so t = R² / (sky ((1 + p)² − 1)), s. Follows from the CCD equation.
    /// </summary>
    public double SkyLimitedSec(double share = 0.05) =>
        ReadNoiseElectrons * ReadNoiseElectrons
        / (ElectronsPerSec(SkyMagPerArcsec2) * (((1 + share) * (1 + share)) - 1));

    /// <summary>Signal to noise on one pixel of a surface in a stack of frames.</summary>
    public double SignalToNoise(double magPerArcsec2, double exposureSec, double frames)
    {
        double signal = ElectronsPerSec(magPerArcsec2) * exposureSec;
        double noise = signal + (ElectronsPerSec(SkyMagPerArcsec2) * exposureSec)
            + (ReadNoiseElectrons * ReadNoiseElectrons);
        return signal / Math.Sqrt(noise) * Math.Sqrt(frames);
    }

    /// <summary>Frames needed for a signal to noise.</summary>
    public double FramesFor(double magPerArcsec2, double exposureSec, double signalToNoise) =>
        Math.Ceiling(Math.Pow(signalToNoise / SignalToNoise(magPerArcsec2, exposureSec, 1), 2));
}
