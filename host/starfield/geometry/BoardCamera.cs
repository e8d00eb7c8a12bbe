// A camera bolted to the moving board: its axes against time, and where a direction falls on the sensor.
// Picture: x to the right, y down, the centre of the upper left pixel is (0, 0). Seen as the eye sees the sky.

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
    private readonly Mat3 _axesAtStart;
    private readonly Vec3 _hingeAxis;
    private readonly double _senseOfFollowing;

    /// <summary>Sets the camera up at t = 0: the middle of the sensor on the apparent place of the pointing.</summary>
    public BoardCamera(Scene scene, DiurnalMotion sky)
    {
        ArgumentNullException.ThrowIfNull(scene);
        ArgumentNullException.ThrowIfNull(sky);
        _scene = scene;
        Pointing aim = scene.Pointing;
        double rotation = sky.LocalRotationAngleRad(0);
        double ra = (aim.RightAscensionDeg * Units.RadPerDeg)
            ?? (rotation - (aim.HourAngleDeg!.Value * Units.RadPerDeg));
        Mat3 toHorizon = sky.StarToHorizon(0);
        Vec3 forward = sky.Apparent(toHorizon.Apply(Vec3.FromSpherical(ra, aim.DeclinationDeg * Units.RadPerDeg)))
            ?? throw new ArgumentException(
                $"The pointing (declination {aim.DeclinationDeg} degrees) is under 10 degrees of altitude at the "
                + "start; "
                + "it must lie higher.", nameof(scene));
        Vec3 east = toHorizon.Apply(new Vec3(0, 0, 1)).Cross(forward).Unit();
        Vec3 north = forward.Cross(east);
        double roll = aim.RollDeg * Units.RadPerDeg;
        Vec3 up = (north * Math.Cos(roll)) + (east * Math.Sin(roll));
        _axesAtStart = new Mat3(forward.Cross(up), up, forward);

        bool southern = scene.Site.LatitudeDeg < 0;
        double altitude = (Math.Abs(scene.Site.LatitudeDeg) * Units.RadPerDeg)
            + (scene.Mount.AxisAltitudeErrorArcmin * Units.RadPerArcmin);
        double azimuth = (southern ? Math.PI : 0) + (scene.Mount.AxisAzimuthErrorArcmin * Units.RadPerArcmin);
        double level = Math.Cos(altitude);
        _hingeAxis = new Vec3(Math.Sin(azimuth) * level, Math.Cos(azimuth) * level, Math.Sin(altitude));
        // Seen along the axis to the pole, the sky turns anticlockwise in the north, clockwise in the south.
        _senseOfFollowing = southern ? 1 : -1;
    }

    /// <summary>
    /// Returned: the matrix from the horizon frame to the camera's axes (right, up, forward) at t seconds: the board
    /// turned about the real axis by the hinge's opening since the start, and all of it turned by the knocks so far.
    /// </summary>
    public Mat3 HorizonToCamera(double tSeconds)
    {
        double opening = _scene.Mount.AngleRad(tSeconds) - _scene.Mount.AngleRad(0);
        Mat3 toStart = Mat3.Rotation(_hingeAxis, -_senseOfFollowing * opening);
        Mat3 camera = _axesAtStart.After(toStart);
        // The last knock is undone first: its turn came on top of the earlier ones.
        Mat3 knocks = Mat3.Identity;
        IEnumerable<TripodBump> past = _scene.Disturbances.Bumps.Where(b => b.AtSeconds <= tSeconds);
        foreach (TripodBump bump in past.OrderBy(b => b.AtSeconds))
        {
            Mat3 azimuth = Mat3.Rotation(new Vec3(0, 0, 1), -bump.AzimuthArcmin * Units.RadPerArcmin);
            Mat3 tilt = Mat3.Rotation(new Vec3(1, 0, 0), bump.NorthUpArcmin * Units.RadPerArcmin);
            knocks = tilt.After(azimuth).After(knocks);
        }
        return camera.After(knocks.Transposed());
    }

    /// <summary>
    /// Gnomonic projection (TAN; Calabretta and Greisen 2002, A&amp;A 395, 1077, section 5.1.3), then the lens's radial
    /// distortion. Given: direction in camera axes, lens, sensor. Returned: pixels, or null behind the camera.
    /// </summary>
    public static PixelPoint? Project(Vec3 inCamera, Lens lens, Sensor sensor)
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
    public static Vec3 Direction(PixelPoint pixel, Lens lens, Sensor sensor)
    {
        ArgumentNullException.ThrowIfNull(lens);
        ArgumentNullException.ThrowIfNull(sensor);
        double tangentPerPx = sensor.PixelPitchMicrometres / 1000 / lens.FocalLengthMm;
        return new Vec3(
            (pixel.X - ((sensor.WidthPx - 1) / 2.0)) * tangentPerPx,
            (((sensor.HeightPx - 1) / 2.0) - pixel.Y) * tangentPerPx, 1).Unit();
    }
}
