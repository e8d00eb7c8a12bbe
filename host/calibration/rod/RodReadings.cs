// Readings of opening against rod length, from a caliper between the boards or from an inclinometer.

using Hourhinge.Calibration.Readings;
using Hourhinge.SharedMath.Geometry;

namespace Hourhinge.Calibration.Rod;

/// <summary>An opening measured at a rod length.</summary>
/// <param name="Line">Line in the file.</param>
/// <param name="RodMm">Rod length between the boards, mm, as the rig file counts it.</param>
/// <param name="AngleRad">Opening, radians.</param>
/// <param name="AngleSigmaRad">Standard error of the opening, radians.</param>
public sealed record RodReading(int Line, double RodMm, double AngleRad, double AngleSigmaRad)
{
    private static readonly MeasurementColumn _rod = new("rod_mm", -500, 2000, "mm");
    private static readonly MeasurementColumn _angle = new("angle_deg", -10, 120, "degrees");
    private static readonly MeasurementColumn _gap = new("gap_mm", 0, 3000, "mm");
    private static readonly MeasurementColumn _at = new("at_mm", 20, 3000, "mm");

    /// <summary>
    /// Reads a file with the columns rod_mm, angle_deg or rod_mm, gap_mm, at_mm: the gap between two points, one on
    /// each board, both at_mm from the hinge axis, is the chord 2·at·sin(θ/2).
    /// </summary>
    /// <param name="file">Name for messages.</param>
    /// <param name="text">Its text.</param>
    /// <param name="angleErrorDeg">Standard error of an inclinometer reading, degrees.</param>
    /// <param name="gapErrorMm">Standard error of a gap, mm.</param>
    public static IReadOnlyList<RodReading> Read(string file, string text, double angleErrorDeg, double gapErrorMm)
    {
        bool byGap = MeasurementTable.ColumnsOf(file, text).Any(n => n == _gap.Name || n == _at.Name);
        if (!byGap)
        {
            return [.. MeasurementTable.Parse(file, text, [_rod, _angle]).Rows.Select(r =>
                new RodReading(r.Line, r.Values[0], AngleUnits.FromDeg(r.Values[1]),
                    AngleUnits.FromDeg(angleErrorDeg)))];
        }

        MeasurementTable table = MeasurementTable.Parse(file, text, [_rod, _gap, _at]);
        return [.. table.Rows.Select(r =>
        {
            (double gap, double at) = (r.Values[1], r.Values[2]);
            if (gap >= 1.9 * at)
            {
                throw table.Wrong(r.Line, _gap.Name, gap,
                    $"must be 0 to {1.9 * at:0.#} mm for boards measured {at} mm from the hinge axis");
            }

            double half = Math.Asin(gap / (2 * at));
            return new RodReading(r.Line, r.Values[0], 2 * half, gapErrorMm / (at * Math.Cos(half)));
        })];
    }
}
