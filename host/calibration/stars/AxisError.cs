// Converts the axis error into adjustments at the tripod (raise or lower, turn east or west), and combines fields at
// different hour angles, each of which determines one component well.
using Hourhinge.Numerics;
using MathNet.Numerics.LinearAlgebra;

namespace Hourhinge.Calibration.Stars;

/// <summary>A change of a field's axis components.</summary>
/// <param name="TowardFieldArcmin">Of the component towards the field's hour angle.</param>
/// <param name="EastOfFieldArcmin">Of the component a quarter turn east of it.</param>
public readonly record struct AxisShift(double TowardFieldArcmin, double EastOfFieldArcmin);

/// <summary>What one field says of the axis.</summary>
/// <param name="TowardFieldArcmin">Component towards the field's hour angle, with the error of the fit alone.</param>
/// <param name="EastOfFieldArcmin">Component a quarter turn east of it, the same.</param>
/// <param name="Correlation">Their correlation.</param>
/// <param name="HourAngleRad">Hour angle of the field at mid-run, west positive.</param>
public sealed record FieldAxis(Estimate TowardFieldArcmin, Estimate EastOfFieldArcmin, double Correlation,
    double HourAngleRad)
{
    /// <summary>Changes by one standard error of each input of this field alone (its place, its scale).</summary>
    public IReadOnlyList<AxisShift> OwnShifts { get; init; } = [];

    /// <summary>Changes by one standard error of each input that all fields have in common (air, exposure, the
    /// camera's clock), in the same order in every field.</summary>
    public IReadOnlyList<AxisShift> SharedShifts { get; init; } = [];
}

/// <summary>Axis error at the tripod, from the pole as it is seen through the air: there an axis points that was aimed
/// at the sky, and there profile and budget assume it.</summary>
/// <param name="HighArcmin">Altitude of the northern axis end less that of the pole (negative: too low). For a southern
/// pole the southern end is counted.</param>
/// <param name="WestArcmin">How much too far west: the turn of the base times the cosine of the axis' altitude.</param>
/// <param name="TurnWestArcmin">The same as a turn of the base about the vertical.</param>
/// <param name="HourAngleOfBestSecondFieldRad">Hour angle of a field that would settle the less known
/// direction.</param>
/// <param name="DisagreementSquared">Sum of the fields' squared deviations from this axis in units of their errors;
/// 0 for one field. Of two fields it exceeds 13.8 once in a thousand (chi-squared, 2 degrees of freedom).</param>
public sealed record AxisError(Estimate HighArcmin, Estimate WestArcmin, Estimate TurnWestArcmin,
    double HourAngleOfBestSecondFieldRad, double DisagreementSquared)
{
    private const double Normal95 = 1.96, ArcminPerRad = 10800 / Math.PI;

    /// <summary>Joins any number of fields by least squares with all their covariances, those between the fields
    /// included: an interval is never wider than that of any field alone.</summary>
    /// <param name="fields">One or more.</param>
    /// <param name="latitudeRad">Site latitude; its sign picks the pole.</param>
    /// <param name="poleLiftedArcmin">How much higher than the true pole the fields' pole is seen: 0 where the fields
    /// state the axis from the pole as seen already.</param>
    public static AxisError Of(IReadOnlyList<FieldAxis> fields, double latitudeRad, double poleLiftedArcmin = 0)
    {
        int size = 2 * fields.Count;
        Matrix<double> turns = Matrix<double>.Build.Dense(size, 2);
        Matrix<double> errors = Matrix<double>.Build.Dense(size, size);
        Vector<double> seen = Vector<double>.Build.Dense(size);
        for (int i = 0; i < fields.Count; i++)
        {
            FieldAxis f = fields[i];
            double c = Math.Cos(f.HourAngleRad), s = Math.Sin(f.HourAngleRad);
            // Towards the field = cos H up + sin H west; east of the field = sin H up - cos H west (up: pole to
            // zenith).
            turns.SetSubMatrix(2 * i, 0, Matrix<double>.Build.DenseOfArray(new[,] { { c, s }, { s, -c } }));
            errors.SetSubMatrix(2 * i, 2 * i, OwnCovariance(f));
            (seen[2 * i], seen[(2 * i) + 1]) = (f.TowardFieldArcmin.Value, f.EastOfFieldArcmin.Value);
        }

        for (int k = 0; k < fields.Max(f => f.SharedShifts.Count); k++)
        {
            Vector<double> shift = Vector<double>.Build.DenseOfEnumerable(fields.SelectMany(f =>
                Pair(f.SharedShifts[k])));
            errors += shift.OuterProduct(shift);
        }

        Matrix<double> weights = errors.Inverse();
        Matrix<double> covariance = (turns.TransposeThisAndMultiply(weights) * turns).Inverse();
        Vector<double> value = covariance * (turns.TransposeThisAndMultiply(weights) * seen);
        Vector<double> off = seen - (turns * value);
        // The northern vector (up, west) is that of the axis end at the north celestial pole; seen from the south the
        // other end moves the opposite way, so what is high in the north is low in the south and west becomes east.
        double side = latitudeRad < 0 ? -1 : 1;
        (double high, double turn) = AtTripod(side * value[0], side * value[1], Math.Abs(latitudeRad));
        double altitude = Math.Abs(latitudeRad) + (high / ArcminPerRad);
        double highSigma = Math.Sqrt(covariance[0, 0]), westSigma = Math.Sqrt(covariance[1, 1]);
        var west = new Estimate(turn * Math.Cos(altitude), westSigma, Normal95 * westSigma);
        // The weakest direction is the eigenvector of the larger variance; a field a quarter turn from it fixes it.
        double weakest = 0.5 * Math.Atan2(2 * covariance[0, 1], covariance[0, 0] - covariance[1, 1]);
        return new AxisError(new Estimate(high - poleLiftedArcmin, highSigma, Normal95 * highSigma), west,
            west.Times(1 / Math.Cos(altitude)), Math.IEEERemainder(weakest + (Math.PI / 2), Math.PI),
            off * (weights * off));
    }

    // The fit's covariance, wider where few frames determine it (Student's t over the normal distribution's factor): a
    // short field with a small scatter by chance must not outweigh a long one. Then the field's own inputs.
    private static Matrix<double> OwnCovariance(FieldAxis f)
    {
        double toward = f.TowardFieldArcmin.Half95 / Normal95, east = f.EastOfFieldArcmin.Half95 / Normal95;
        double mixed = f.Correlation * toward * east;
        Matrix<double> sum = Matrix<double>.Build.DenseOfArray(new[,]
            { { toward * toward, mixed }, { mixed, east * east } });
        foreach (AxisShift shift in f.OwnShifts)
        {
            Vector<double> v = Vector<double>.Build.Dense(Pair(shift));
            sum += v.OuterProduct(v);
        }

        return sum;
    }

    private static double[] Pair(AxisShift s) => [s.TowardFieldArcmin, s.EastOfFieldArcmin];

    // From an arc off the pole, arcmin up and west, to altitude above the pole's and turn of the base, arcmin. In first
    // order these are up and west over the cosine of the latitude; the exact turn differs by 0.06' for 20' at 45
    // degrees.
    private static (double High, double TurnWest) AtTripod(double up, double west, double latitude)
    {
        double arc = Math.Sqrt((up * up) + (west * west)) / ArcminPerRad;
        double scale = arc > 1e-12 ? Math.Sin(arc) / arc / ArcminPerRad : 1 / ArcminPerRad;
        (double sin, double cos) = Math.SinCos(latitude);
        double zenith = (Math.Cos(arc) * sin) + (up * scale * cos), north = (Math.Cos(arc) * cos) - (up * scale * sin);
        return ((Math.Asin(zenith) - latitude) * ArcminPerRad, Math.Atan2(west * scale, north) * ArcminPerRad);
    }
}
