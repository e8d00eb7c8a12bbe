// A camera bolted to the moving board: its axes against time, and where a direction falls on the sensor.
// Picture: x to the right, y down, the centre of the upper left pixel is (0, 0). Seen as the eye sees the sky.

using Hourhinge.Numerics;
using Hourhinge.Starfield.Scenes;

namespace Hourhinge.Starfield.Geometry;

/// <summary>A point on the sensor in pixels, x right, y down, (0, 0) the centre of the upper left pixel.</summary>
public readonly record struct PixelPoint(double X, double Y)
{
    /// <summary>Distance to another point, px.</summary>
    public double DistanceTo(PixelPoint o) => Math.Sqrt(((X - o.X) * (X - o.X)) + ((Y - o.Y) * (Y - o.Y)));
}

/// <summary>The camera of a scene as a rigid body, and its gnomonic picture of the sky.</summary>
public sealed class BoardCamera
{
    private readonly Scene _scene;
    private readonly Rotation _axesAtStart;
    private readonly Vector3 _hingeAxis;
    private readonly double _senseOfFollowing;

    /// <summary>Sets the camera up at t = 0: the middle of the sensor on the apparent place of the pointing.</summary>
    public BoardCamera(Scene scene, DiurnalMotion sky)
    {
        ArgumentNullException.ThrowIfNull(scene);
        ArgumentNullException.ThrowIfNull(sky);
        _scene = scene;
        Pointing aim = scene.Pointing;
        double rotation = sky.LocalRotationAngleRad(0);
        double ra = aim.RightAscensionDeg is { } degrees
            ? Angle.FromDegrees(degrees).Radians
            : rotation - Angle.FromDegrees(aim.HourAngleDeg!.Value).Radians;
        Rotation toHorizon = sky.StarToHorizon(0);
        Vector3 forward =
            sky.Apparent(toHorizon.Apply(Vector3.FromSpherical(new Angle(ra), Angle.FromDegrees(aim.DeclinationDeg))))
            ?? throw new ArgumentException(
                $"The pointing (declination {aim.DeclinationDeg} degrees) is under 10 degrees of altitude at the "
                + "start; "
                + "it must lie higher.", nameof(scene));
        Vector3 east = toHorizon.Apply(Vector3.UnitZ).Cross(forward).Normalized();
        Vector3 north = forward.Cross(east);
        var roll = Angle.FromDegrees(aim.RollDeg);
        Vector3 up = (north * roll.Cos()) + (east * roll.Sin());
        _axesAtStart = new Rotation(forward.Cross(up), up, forward);

        bool southern = scene.Site.LatitudeDeg < 0;
        Angle altitude = Angle.FromDegrees(Math.Abs(scene.Site.LatitudeDeg))
            + Angle.FromArcminutes(scene.Mount.AxisAltitudeErrorArcmin);
        Angle azimuth = new Angle(southern ? Math.PI : 0)
            + Angle.FromArcminutes(scene.Mount.AxisAzimuthErrorArcmin);
        _hingeAxis = new Vector3(azimuth.Sin() * altitude.Cos(), azimuth.Cos() * altitude.Cos(), altitude.Sin());
        // Seen along the axis to the pole, the sky turns anticlockwise in the north, clockwise in the south.
        _senseOfFollowing = southern ? 1 : -1;
    }

    /// <summary>
    /// Returned: the matrix from the horizon frame to the camera's axes (right, up, forward) at t seconds: the board
    /// turned about the real axis by the hinge's opening since the start, and all of it turned by the bumps so far.
    /// </summary>
    public Rotation HorizonToCamera(double tSeconds)
    {
        double opening = _scene.Mount.AngleRad(tSeconds) - _scene.Mount.AngleRad(0);
        Rotation toStart = Rotation.About(_hingeAxis, new Angle(-_senseOfFollowing * opening));
        Rotation camera = _axesAtStart.After(toStart);
        // The last bump is undone first: its turn came on top of the earlier ones.
        Rotation bumps = Rotation.Identity;
        IEnumerable<TripodBump> past = _scene.Disturbances.Bumps.Where(b => b.AtSeconds <= tSeconds);
        foreach (TripodBump bump in past.OrderBy(b => b.AtSeconds))
        {
            Rotation azimuth = Rotation.About(Vector3.UnitZ, Angle.FromArcminutes(-bump.AzimuthArcmin));
            Rotation tilt = Rotation.About(Vector3.UnitX, Angle.FromArcminutes(bump.NorthUpArcmin));
            bumps = tilt.After(azimuth).After(bumps);
        }
        return camera.After(bumps.Inverse());
    }

    /// <summary>
    /// Gnomonic projection (TAN; Calabretta and Greisen 2002, A&amp;A 395, 1077, section 5.1.3), then the lens's radial
    /// distortion. Given: direction in camera axes, lens, sensor. Returned: pixels, or null behind the camera.
    /// </summary>
    public static PixelPoint? Project(Vector3 inCamera, Lens lens, Sensor sensor)
    {
        ArgumentNullException.ThrowIfNull(lens);
        ArgumentNullException.ThrowIfNull(sensor);
        if (inCamera.Z <= 0.01)
        {
            return null;
        }

        double right = inCamera.X / inCamera.Z, up = inCamera.Y / inCamera.Z, r2 = (right * right) + (up * up);
        double distortion = 1 + (r2 * (lens.K1 + (r2 * lens.K2)));
        double pxPerTangent = lens.FocalLengthMm * 1000 / sensor.PixelPitchMicrometres * distortion;
        double middleX = (sensor.WidthPx - 1) / 2.0, middleY = (sensor.HeightPx - 1) / 2.0;
        return new PixelPoint(middleX + (right * pxPerTangent), middleY - (up * pxPerTangent));
    }

    /// <summary>
    /// The direction in camera axes (unit vector) that an undistorted lens images on a pixel.
    /// </summary>
    public static Vector3 Direction(PixelPoint pixel, Lens lens, Sensor sensor)
    {
        ArgumentNullException.ThrowIfNull(lens);
        ArgumentNullException.ThrowIfNull(sensor);
        double tangentPerPx = sensor.PixelPitchMicrometres / 1000 / lens.FocalLengthMm;
        return new Vector3(
            (pixel.X - ((sensor.WidthPx - 1) / 2.0)) * tangentPerPx,
            (((sensor.HeightPx - 1) / 2.0) - pixel.Y) * tangentPerPx, 1).Normalized();
    }
}
