// The exact prediction of a frame's motion for given unknowns of the drift fit: stars turned about the pole, refracted,
// seen by a camera that the drive turned about its axis, and reduced by the same FieldMotion as the real stars. It
// includes the second order of the axis error, the width of the field, and the change of its shape by refraction.
// Not here: the linear steps towards the best unknowns (DriftModel).
using Hourhinge.Calibration.Orientation;
using Hourhinge.Frames.Matching;
using Hourhinge.Frames.Stars;
using Hourhinge.Numerics;
using Hourhinge.Sky.Observing;
using Hourhinge.Sky.Places;

namespace Hourhinge.Calibration.Stars;

/// <summary>Where the camera looks, and through what.</summary>
/// <param name="DeclinationRad">Declination of the frame's centre.</param>
/// <param name="HourAngleRad">Its hour angle at time zero of the samples, west positive.</param>
/// <param name="LatitudeRad">Of the site; matters to refraction only.</param>
/// <param name="Air">At the site; <see cref="Air.None"/> for no refraction.</param>
/// <param name="WidthPx">Columns of the frame.</param>
/// <param name="HeightPx">Rows of the frame.</param>
public sealed record FieldPlace(
    double DeclinationRad, double HourAngleRad = 0, double LatitudeRad = 0, Air Air = default, int WidthPx = 6000,
        int HeightPx = 4000);

/// <summary>What the drive does: how far it has turned beyond the sky, and about which axis.</summary>
/// <param name="AheadRad">Turn of the hinge beyond the sky's at a time in seconds.</param>
/// <param name="TowardFieldRad">Axis error towards the field's hour angle at <paramref name="MidSeconds"/>.</param>
/// <param name="EastOfFieldRad">Axis error a quarter turn east of that.</param>
/// <param name="MidSeconds">Time at which the axis error is counted.</param>
internal sealed record DriveMotion(Func<double, double> AheadRad, double TowardFieldRad, double EastOfFieldRad,
    double MidSeconds);

/// <summary>Predicts motions against the reference frame.</summary>
internal sealed class DriftPrediction
{
    private const int Across = 6, Down = 5;
    private static readonly Vector3 _pole = Vector3.UnitZ;
    private readonly SkyOnSensor _sky;
    private readonly FieldPlace _place;
    private readonly double _referenceSeconds;
    private readonly double _flip;
    private readonly Vector3 _x0, _y0, _z0;
    private readonly Vector3[] _stars;
    private readonly Star[] _seenFirst;

    // Where the sky and the air have put the stars at a time: the same for every guess of the drive.
    private readonly Dictionary<double, Vector3[]> _seenLater = [];

    public DriftPrediction(SkyOnSensor sky, FieldPlace place, double referenceSeconds)
    {
        (this._sky, this._place, this._referenceSeconds) = (sky, place, referenceSeconds);
        _flip = sky.Mirrored ? -1 : 1;
        double hour = place.HourAngleRad + (ApparentDrift.RadPerSec * referenceSeconds);
        double west = sky.Mirrored ? Math.PI - sky.WestAngleRad : sky.WestAngleRad;
        // Axes: x to the equator on the meridian, y to the west, z to the pole, so a turn about z adds to the hour
        // angle.
        _z0 = Vector3.FromSpherical(new Angle(hour), new Angle(place.DeclinationRad));
        var east = new Vector3(Math.Sin(hour), -Math.Cos(hour), 0);
        double sin = Math.Sin(place.DeclinationRad);
        var north = new Vector3(-sin * Math.Cos(hour), -sin * Math.Sin(hour), Math.Cos(place.DeclinationRad));
        _x0 = (east * -Math.Cos(west)) + (north * Math.Sin(west));
        _y0 = (east * -Math.Sin(west)) + (north * -Math.Cos(west));
        _stars = new Vector3[Across * Down];
        _seenFirst = new Star[_stars.Length];
        for (int i = 0; i < _stars.Length; i++)
        {
            double u = ((((i % Across) + 0.5) / Across) - 0.5) * place.WidthPx / sky.FocalLengthPx;
            double v = ((((i / Across) + 0.5) / Down) - 0.5) * place.HeightPx / sky.FocalLengthPx;
            _stars[i] = (_z0 + (_x0 * u) + (_y0 * v)).Normalized();
            _seenFirst[i] = OnSensor(Refracted(_stars[i]), _x0, _y0, _z0);
        }
    }

    /// <summary>The motion from the reference frame to a frame in mid-exposure at a time.</summary>
    public FieldMotion At(double seconds, DriveMotion guess)
    {
        double since = seconds - _referenceSeconds;
        double turn = (ApparentDrift.RadPerSec * since) + guess.AheadRad(seconds) - guess.AheadRad(_referenceSeconds);
        double hour = _place.HourAngleRad + (ApparentDrift.RadPerSec * guess.MidSeconds);
        Vector3 off = (new Vector3(Math.Cos(hour), Math.Sin(hour), 0) * guess.TowardFieldRad)
            + (new Vector3(Math.Sin(hour), -Math.Cos(hour), 0) * guess.EastOfFieldRad);
        double size = off.Length;
        Vector3 axis = size < 1e-12 ? _pole : (_pole * Math.Cos(size)) + (off * (Math.Sin(size) / size));
        var drive = Rotation.About(axis, new Angle(turn));
        Vector3 x = drive.Apply(_x0), y = drive.Apply(_y0), z = drive.Apply(_z0);
        if (!_seenLater.TryGetValue(seconds, out Vector3[]? seen))
        {
            var diurnal = Rotation.About(_pole, new Angle(ApparentDrift.RadPerSec * since));
            _seenLater[seconds] = seen = _stars.Select(s => Refracted(diurnal.Apply(s))).ToArray();
        }

        StarPair[] pairs = _seenFirst.Zip(seen, (first, later) => new StarPair(first, OnSensor(later, x, y, z)))
            .ToArray();
        return FieldMotion.Fit(pairs, _place.WidthPx, _place.HeightPx, _sky.FocalLengthPx)
            ?? throw new InvalidOperationException("The predicted field left the sensor's side of the sky.");
    }

    private Vector3 Refracted(Vector3 v)
    {
        if (_place.Air.PressureHpa <= 0)
        {
            return v;
        }

        HourAngleDeclination seen = RefractionDrift.Observed(new HourAngleDeclination(v.Longitude(), v.Latitude()),
            new Angle(_place.LatitudeRad), _place.Air);
        return Vector3.FromSpherical(seen.HourAngle, seen.Declination);
    }

    private Star OnSensor(Vector3 v, Vector3 x, Vector3 y, Vector3 z)
    {
        double depth = v.Dot(z);
        return new Star(
            ((_place.WidthPx - 1) / 2.0) + (_flip * _sky.FocalLengthPx * v.Dot(x) / depth),
            ((_place.HeightPx - 1) / 2.0) + (_sky.FocalLengthPx * v.Dot(y) / depth),
            1000, 100, 100, 1.5, 1.5, 0, StarCautions.None);
    }
}
