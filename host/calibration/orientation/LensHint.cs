using Hourhinge.Frames.Reading;
using Hourhinge.Rig;

namespace Hourhinge.Calibration.Orientation;

/// <summary>What the rig file and the frames' files say of the lens.</summary>
/// <param name="FocalLengthsPx">Focal lengths that the lens may have, pixels.</param>
/// <param name="Text">Where they come from, for messages.</param>
public sealed record LensHint(IReadOnlyList<double> FocalLengthsPx, string Text)
{
    /// <summary>Distortion by an earlier measurement; null for none.</summary>
    public LensData? Measured { get; init; }

    /// <summary>A lens's name is within some percent of its focal length (common practice, no source).</summary>
    public const double Tolerance = 0.08;

    /// <summary>From the rig's camera and a frame; null where nothing is known.</summary>
    /// <param name="rig">The rig.</param>
    /// <param name="info">What the frame's file says.</param>
    /// <param name="longSidePx">Pixels along the frame's long side: a reduced frame has larger pixels.</param>
    public static LensHint? Of(RigDescription rig, FrameInfo info, int longSidePx)
    {
        if (rig.Camera is not { } camera)
        {
            return null;
        }

        double[] lenses = info.FocalLengthMm is > 0 and { } marked ? [marked] : [.. camera.LensesMm];
        double reduced = Math.Max(camera.WidthPx, camera.HeightPx) / (double)longSidePx;
        // A frame of another size is a cut-out or a reduced picture.
        double[] pixels = Math.Abs(reduced - 1) < 0.02
            ? [camera.PixelUm]
            : [camera.PixelUm, camera.PixelUm * reduced];
        string text = $"{string.Join(" or ", lenses.Select(l => $"{l:0.#} mm"))} at {camera.PixelUm:0.##} µm a pixel";
        LensData?[] measured = [.. lenses.Select(rig.MeasuredLens)];
        return new LensHint(
            [.. lenses.SelectMany((l, i) => pixels.Select(p => (measured[i]?.FocalLengthMm ?? l) * 1000 / p))], text)
        { Measured = lenses.Length == 1 ? measured[0] : null };
    }

    /// <summary>The one focal length that is possible; null where there are several.</summary>
    public double? OnlyOne => FocalLengthsPx.Count == 1 ? FocalLengthsPx[0] : null;

    /// <summary>A reason for doubt where a measured focal length is none of these; else null.</summary>
    public string? Doubt(double focalLengthPx)
    {
        double nearest = FocalLengthsPx.MinBy(f => Math.Abs(Math.Log(f / focalLengthPx)));
        double off = (focalLengthPx / nearest) - 1;
        return Math.Abs(off) <= Tolerance
            ? null
            : $"the stars give a focal length of {focalLengthPx:0} pixels, where {Text} makes {nearest:0} "
                + $"({100 * off:+0;-0} %): check lens and pixel in the rig file, the declination, and that the streaks "
                + "are star trails.";
    }
}
