// Elementary statics of a screw: force along the rod to torque at the nut.

using System.Globalization;
using Hourhinge.SharedMath.Geometry;

namespace Hourhinge.Planning.Parts;

/// <summary>Torque that turns a nut under load.</summary>
public static class ScrewStatics
{
    /// <summary>Friction of dry steel on steel; handbook value, from memory (also
    /// hardware-notes/cautions.md).</summary>
    public const double Friction = 0.15;

    // Half the flank angle of ISO and unified threads (ISO 68-1, ASME B1.1).
    private const double FlankRad = 30 * AngleUnits.RadPerDeg;

    // Mean radius of the nut's face over the thread's diameter: a hexagon of 1.6 d outside a hole of 1.1 d.
    private const double FaceRadiusPerDiameter = (1.6 + 1.1) / 4;

    /// <summary>Pitch diameter d₂ = d − 3√3/8·P, mm (ISO 724; ASME B1.1 has the same basic profile).</summary>
    public static double PitchDiameterMm(double diameterMm, double pitchMm) =>
        diameterMm - (3 * Math.Sqrt(3) / 8 * pitchMm);

    /// <summary>
    /// Torque at a nut that raises a load F, N·mm: T = F·d₂/2·tan(λ + ρ) + F·μ·r, with the lead angle
    /// tan λ = P/(π d₂), the friction angle of the flanks tan ρ = μ/cos 30°, and the friction of the nut's face at the
    /// radius r. (Shigley, Mechanical Engineering Design, chapter on screws, equations for the torque to raise a load
    /// and for collar friction; from memory.)
    /// </summary>
    public static double NutTorqueNmm(double forceN, double diameterMm, double pitchMm)
    {
        double pitchDiameter = PitchDiameterMm(diameterMm, pitchMm);
        double lead = Math.Atan(pitchMm / (Math.PI * pitchDiameter));
        double flank = Math.Atan(Friction / Math.Cos(FlankRad));
        return forceN * ((pitchDiameter / 2 * Math.Tan(lead + flank))
            + (Friction * FaceRadiusPerDiameter * diameterMm));
    }

    /// <summary>
    /// Outer diameter of a thread by its name, mm; NaN when the name has none. Metric: the number after M (ISO 261).
    /// Inch: the fraction of an inch, or for a number n 0.060 + 0.013·n inches (ASME B1.1).
    /// </summary>
    public static double MajorDiameterMm(string thread)
    {
        string size = thread.Trim().TrimStart('#').ToLowerInvariant();
        if (size.StartsWith('m'))
        {
            return Parse(size[1..].Split('x', '×')[0]);
        }

        size = size.Split('-')[0].TrimEnd('"', ' ');
        string[] fraction = size.Split('/');
        return fraction.Length == 2
            ? 25.4 * Parse(fraction[0]) / Parse(fraction[1])
            : 25.4 * (0.060 + (0.013 * Parse(size)));
    }

    private static double Parse(string text) =>
        double.TryParse(text.Trim(), NumberStyles.AllowDecimalPoint, CultureInfo.InvariantCulture, out double number)
            ? number : double.NaN;
}
