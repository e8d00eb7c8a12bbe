using Hourhinge.Numerics;
using Hourhinge.Sky.Places;
using MathNet.Numerics.LinearAlgebra;

namespace Hourhinge.Recognition;

/// <summary>A source of the frame and the catalogue star that it is.</summary>
/// <param name="ImageIndex">Index in the list of sources given.</param>
/// <param name="CatalogueIndex">Index in <c>StarCatalogue.Stars</c>.</param>
/// <param name="DeltaXPx">Measured column less computed column.</param>
/// <param name="DeltaYPx">Measured row less computed row.</param>
/// <param name="UsedInFit">False where the fit left it out as an outlier.</param>
public readonly record struct StarMatch(
    int ImageIndex, int CatalogueIndex, double DeltaXPx, double DeltaYPx, bool UsedInFit)
{
    /// <summary>Distance between measured and computed place, pixels.</summary>
    public double ResidualPx => Math.Sqrt((DeltaXPx * DeltaXPx) + (DeltaYPx * DeltaYPx));
}

/// <summary>A frame recognised on the sky.</summary>
/// <param name="Projection">Centre, focal length, distortion, axis, roll, mirror image.</param>
/// <param name="Matches">Sources that are catalogue stars.</param>
/// <param name="RmsPx">Root mean square of <see cref="StarMatch.ResidualPx"/> of the matches used in the fit.</param>
/// <param name="LogBayesFactor">Natural logarithm of the Bayes factor of this field against chance; the trials of the
/// search are already paid for (see FieldEvidence).</param>
/// <param name="Covariance">Covariance of, in this order: centre towards east and towards north (radians on the sky),
/// roll (radians), natural logarithm of the focal length, K1, K2, axis along x and y (pixels; 0 where it was held).
/// From the scatter found; K1, K2 and axis of a small field lean on the priors of FieldFit.</param>
public sealed record RecognizedField(
    FieldProjection Projection, IReadOnlyList<StarMatch> Matches, double RmsPx, double LogBayesFactor,
    Matrix<double> Covariance)
{
    private const int UnseenSteps = 6;

    /// <summary>The hint's <see cref="FieldHint.SeenDirection"/>; null where catalogue places were used as they
    /// are.</summary>
    public Func<Vector3, Vector3>? SeenDirection { get; init; }

    /// <summary>Catalogue place (J2000) of the frame's centre: what is seen there, with refraction taken off.</summary>
    public Equatorial Centre => Equatorial.FromVector(
        ToCatalogue(new FramePoint(Projection.CentreX, Projection.CentreY)) ?? Projection.ToCamera.Row3);

    /// <summary>Where a catalogue direction is drawn; null as <see cref="FieldProjection.ToPixel"/>.</summary>
    public FramePoint? ToPixel(Vector3 j2000) => Projection.ToPixel(SeenDirection?.Invoke(j2000) ?? j2000);

    /// <summary>Catalogue direction that a pixel shows; null as <see cref="FieldProjection.ToDirection"/>.</summary>
    public Vector3? ToCatalogue(FramePoint pixel)
    {
        if (Projection.ToDirection(pixel) is not { } seen || SeenDirection is null)
        {
            return Projection.ToDirection(pixel);
        }

        // Refraction changes slowly: taking off what it does to the last guess converges at once, but at the horizon.
        Vector3 direction = seen;
        for (int i = 0; i < UnseenSteps; i++)
        {
            direction = (direction + seen - SeenDirection(direction)).Normalized();
        }

        return direction;
    }

    /// <summary>The same field with the errors that refraction adds where it is left in: it compresses a field by 0.03
    /// per cent overhead and by 0.1 at an altitude of 22 degrees (tangent of the zenith distance times 58 arcsec),
    /// bends it and turns it a little. Measured on the photographs of tests/reference: 0.07 per cent of scale, 0.02
    /// degrees of roll, 0.002 of K1 and K2, 1 px of axis, 8 arcsec of the centre of a field of 75 degrees at an
    /// altitude of 25.</summary>
    public RecognizedField WithRefractionLeftIn()
    {
        const double Scale = 5e-4, Roll = 2e-4, CentreOfSquare = 4e-5, Distortion = 1.5e-3;
        double centre = CentreOfSquare * Projection.CornerRadius * Projection.CornerRadius;
        double axis = Covariance[6, 6] > 0 ? Scale * Projection.FocalLengthPx : 0;
        double[] added = [centre, centre, Roll, Scale, Distortion, Distortion, axis, axis];
        return this with
        {
            Covariance = Covariance + Matrix<double>.Build.DiagonalOfDiagonalArray([.. added.Select(a => a * a)]),
        };
    }

    /// <summary>Standard error of the focal length, pixels.</summary>
    public double FocalLengthSigmaPx => Projection.FocalLengthPx * Math.Sqrt(Covariance[3, 3]);

    /// <summary>Standard error of the roll at the centre.</summary>
    public Angle RollSigma => new(Math.Sqrt(Covariance[2, 2]));

    /// <summary>Standard error of the centre, root sum square of both directions.</summary>
    public Angle CentreSigma => new(Math.Sqrt(Covariance[0, 0] + Covariance[1, 1]));

    /// <summary>Standard error of the axis along x, pixels.</summary>
    public double AxisXSigmaPx => Math.Sqrt(Covariance[6, 6]);

    /// <summary>Standard error of the axis along y, pixels.</summary>
    public double AxisYSigmaPx => Math.Sqrt(Covariance[7, 7]);

    /// <summary>Standard error of K1.</summary>
    public double K1Sigma => Math.Sqrt(Covariance[4, 4]);

    /// <summary>Standard error of K2.</summary>
    public double K2Sigma => Math.Sqrt(Covariance[5, 5]);
}
