// The lens of a recognised field against the rig file's [[lens]]: a new entry, a better one in place of the old, or the
// old one left as it is; each with a sentence.
using Hourhinge.Calibration.Orientation;
using Hourhinge.Frames.Reading;
using Hourhinge.Numerics;
using Hourhinge.Recognition;
using Hourhinge.Rig;
using static Hourhinge.App.Common.ConsoleOutput;

namespace Hourhinge.App.Calibrate;

/// <summary>What happens to the entry of a measured lens.</summary>
/// <param name="Changes">Lines for the rig file; none where the entry stays.</param>
/// <param name="Remarks">Sentences for the user.</param>
internal sealed record LensEntry(IReadOnlyList<RigChange> Changes, IReadOnlyList<string> Remarks)
{
    // Refocusing and temperature move a focal length by about this much (common practice, no source).
    private const double FocusShare = 0.002;
    private const double ContradictionSigmas = 3;

    /// <summary>Compares the measured lens with the file.</summary>
    /// <param name="rig">The rig file.</param>
    /// <param name="recognised">A recognised frame; null where the field was told.</param>
    /// <param name="focalPx">Focal length in pixels with its error.</param>
    public static LensEntry Of(RigDescription rig, RecognisedFrame? recognised, Estimate focalPx)
    {
        return recognised is null || Found(rig, recognised, focalPx) is not { } lens
            ? new LensEntry([], [])
            : Of(rig, lens, recognised.Field.K1Sigma, recognised.Field.K2Sigma);
    }

    /// <summary>Compares a lens with the file.</summary>
    /// <param name="rig">The rig file.</param>
    /// <param name="lens">As measured now, with its standard error.</param>
    /// <param name="k1Sigma">Standard error of k1.</param>
    /// <param name="k2Sigma">Standard error of k2.</param>
    public static LensEntry Of(RigDescription rig, LensData lens, double k1Sigma, double k2Sigma)
    {
        LensData? old = rig.MeasuredLens(lens.MarkedMm);
        if (old is null)
        {
            return new LensEntry(Lines("lens[]", lens, k1Sigma, k2Sigma, isNew: true), []);
        }

        string name = $"The lens of {Number(lens.MarkedMm, 1)} mm";
        string day = old.Measured.Length > 0 ? $" of {old.Measured}" : "";
        string values = $"{Length(old)} in the rig file{day}, {Length(lens)} now";
        var remarks = new List<string>();
        double off = Math.Abs(lens.FocalLengthMm - old.FocalLengthMm);
        double sigma = Math.Sqrt(Math.Pow(old.SigmaMm, 2) + Math.Pow(lens.SigmaMm, 2)
            + Math.Pow(FocusShare * old.FocalLengthMm, 2));
        if (off > ContradictionSigmas * sigma)
        {
            remarks.Add($"{name} contradicts its entry: {values}, {Number(off / sigma, 0)} standard errors apart. Is "
                + "it another lens, another zoom setting, or another camera?");
        }

        bool isBetter = old.SigmaMm <= 0 || lens.SigmaMm <= old.SigmaMm;
        remarks.Add(isBetter
            ? $"{name}: this measurement takes the place of the one before ({values})."
            : $"{name}: the entry stays, for it is known better than this measurement ({values}).");
        int index = rig.Lenses.ToList().IndexOf(old);
        return new LensEntry(
            isBetter ? Lines($"lens[{index}]", lens, k1Sigma, k2Sigma, isNew: false) : [], remarks);
    }

    private static string Length(LensData lens) => $"{Number(lens.FocalLengthMm, 3)} mm"
        + (lens.SigmaMm > 0 ? $" (± {Number(1.96 * lens.SigmaMm, 3)})" : "");

    private static List<RigChange> Lines(string table, LensData lens, double k1Sigma, double k2Sigma, bool isNew)
    {
        string today = CalibrateOutput.Today;
        string From(double sigma, int decimals) =>
            RigEditor.Provenance(Number(sigma, decimals), "stars", today);
        List<RigChange> mark = isNew ? [new RigChange(table, "marked_mm", Number(lens.MarkedMm, 2))] : [];
        return
        [
            .. mark,
            new RigChange(table, "focal_length_mm", Number(lens.FocalLengthMm, 3), From(lens.SigmaMm, 3)),
            new RigChange(table, "sigma_mm", Number(lens.SigmaMm, 4)),
            new RigChange(table, "k1", Number(lens.K1, 5), From(k1Sigma, 5)),
            new RigChange(table, "k2", Number(lens.K2, 5), From(k2Sigma, 5)),
            new RigChange(table, "measured", $"\"{today}\""),
        ];
    }

    // The lens in millimetres; the marked length is the file's, or the rig's nearest.
    private static LensData? Found(RigDescription rig, RecognisedFrame recognised, Estimate focalPx)
    {
        if (rig.Camera is not { } camera)
        {
            return null;
        }

        FrameInfo info = recognised.Frame.Info;
        FieldProjection p = recognised.Field.Projection;
        double reduced = Math.Max(camera.WidthPx, camera.HeightPx) / (double)Math.Max(p.Width, p.Height);
        double[] lengths = [.. new[] { 1, reduced }.Select(r => p.FocalLengthPx * camera.PixelUm * r / 1000)];
        double[] marks = info.FocalLengthMm is > 0 and { } marked ? [marked] : [.. camera.LensesMm];
        (double mark, double length) = marks.SelectMany(m => lengths.Select(l => (m, l)))
            .MinBy(pair => Math.Abs(Math.Log(pair.m / pair.l)));
        return Math.Abs((length / mark) - 1) > LensHint.Tolerance
            ? null
            : new LensData(mark, length, p.Lens.K1, p.Lens.K2)
            { SigmaMm = focalPx.Sigma * length / focalPx.Value };
    }
}
