namespace Hourhinge.Frames.Grading;

/// <summary>How the sky lies on the frames of a run, and how the lens draws it.</summary>
/// <param name="WestAngleRad">Direction in which stars move with the drive stopped, at the frame's centre, radians from
/// +x towards +y.</param>
/// <param name="StoppedPxPerSec">Their speed there, px/s.</param>
/// <param name="Undistorted">A place as a lens without distortion would draw it; null beyond the lens's model.</param>
public sealed record KnownSky(double WestAngleRad, double StoppedPxPerSec,
    Func<double, double, (double X, double Y)?> Undistorted)
{
    /// <summary>Drift along the sky's own motion, as a share of it: 1 with the drive stopped, 0 where it
    /// follows.</summary>
    public double ShareOf(double driftXPxPerSec, double driftYPxPerSec) =>
        ((driftXPxPerSec * Math.Cos(WestAngleRad)) + (driftYPxPerSec * Math.Sin(WestAngleRad))) / StoppedPxPerSec;
}
