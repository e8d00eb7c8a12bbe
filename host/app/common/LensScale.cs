using Hourhinge.Report;
using Hourhinge.Rig;
using Hourhinge.SharedMath.Geometry;

namespace Hourhinge.App.Common;

/// <summary>A lens on the rig's camera: converts arcseconds to pixels.</summary>
/// <param name="FocalMm">As marked.</param>
/// <param name="TrueFocalMm">As measured; the marked one where it was not.</param>
/// <param name="ArcsecPerPixel">By the true focal length.</param>
internal sealed record LensScale(double FocalMm, double TrueFocalMm, double ArcsecPerPixel)
{
    /// <summary>The lens asked for, or the rig's first lens; null for a rig without a camera.</summary>
    public static LensScale? Of(RigDescription rig, double? focalMm)
    {
        if (focalMm is < 4 or > 3000)
        {
            throw new InputException($"--lens {focalMm}: must be 4 to 3000 mm.");
        }

        if (rig.Camera == null)
        {
            return focalMm == null
                ? null
                : throw new InputException("--lens: the rig file has no table [camera] with pixel_um, 0.5 to 50.");
        }

        double focal = focalMm ?? rig.Camera.LensesMm[0];
        // Small angle: a pixel of p µm at f mm sees p/(1000 f) radians.
        double measured = rig.MeasuredLens(focal)?.FocalLengthMm ?? focal;
        return new LensScale(focal, measured, rig.Camera.PixelUm / 1000 / measured * AngleUnits.ArcsecPerRad);
    }

    /// <summary>A report table's column of pixels at this lens; none without a lens.</summary>
    public static IEnumerable<Column> PixelColumn(LensScale? lens, string head) =>
        lens == null ? [] : [Column.Number(head, $"pixels at {lens.FocalMm:0.#} mm")];
}
