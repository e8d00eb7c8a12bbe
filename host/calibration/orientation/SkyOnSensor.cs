namespace Hourhinge.Calibration.Orientation;

/// <summary>How the sky lies on the sensor.</summary>
/// <param name="WestAngleRad">Direction in which stars move with the drive stopped, at the frame's centre, radians from
/// +x towards +y (rows counted downwards as in the file).</param>
/// <param name="FocalLengthPx">Focal length in pixels.</param>
/// <param name="Mirrored">True for a mirror image (rows stored bottom-up, or an odd number of mirrors).</param>
public sealed record SkyOnSensor(double WestAngleRad, double FocalLengthPx, bool Mirrored = false)
{
    /// <summary>Scale at the frame's centre.</summary>
    public double ArcsecPerPx => ApparentDrift.ArcsecPerRad / FocalLengthPx;

    /// <summary>A motion on the sensor as seen on the sky: arcsec east, arcsec north, arcsec of turn from east to
    /// north.</summary>
    public (double East, double North, double Turn) ToSky(double shiftXPx, double shiftYPx, double rotationRad)
    {
        double west = Mirrored ? Math.PI - WestAngleRad : WestAngleRad, x = Mirrored ? -shiftXPx : shiftXPx;
        double ex = -Math.Cos(west), ey = -Math.Sin(west);
        // Unmirrored and seen from inside, north is a quarter turn on from east in the sense of +x to +y.
        return (((x * ex) + (shiftYPx * ey)) * ArcsecPerPx, ((-x * ey) + (shiftYPx * ex)) * ArcsecPerPx,
            (Mirrored ? -rotationRad : rotationRad) * ApparentDrift.ArcsecPerRad);
    }
}
