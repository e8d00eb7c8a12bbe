namespace Hourhinge.Rehearsal.Mechanisms;

/// <summary>
/// A driving arm that another linkage opens, and the camera's arm that slides on it, as points in the plane: the
/// camera's hinge at the origin, the driving arm's hinge beside it. Of all directions of the camera's arm the one is
/// taken at which the tip lies on the sliding arm's edge, ahead of that arm's hinge: every sign change over a whole
/// turn is looked at, and found by root finding.
/// </summary>
/// <param name="drive">Rod and driving arm.</param>
/// <param name="isTipOnCameraArm">True when the tip is the camera arm's.</param>
/// <param name="contactArmMm">From the hinge of the arm with the tip to the tip.</param>
/// <param name="hinge">The driving arm's hinge.</param>
/// <param name="offsetMm">Distance between tip and edge line, the camera's side up.</param>
public sealed class DoubleArmLinkage(
    Linkage drive, bool isTipOnCameraArm, double contactArmMm, (double X, double Y) hinge, double offsetMm) : Linkage
{
    private const int Directions = 48;

    private double _last = double.NaN;

    /// <inheritdoc/>
    public override double AngleRad(double rodMm)
    {
        double driving = drive.AngleRad(rodMm);
        double Residual(double camera) => Contact(driving, camera).OffEdgeMm;

        // From one position to the next the arm moves little: look near the last one first.
        if (!double.IsNaN(_last) && Residual(_last - 0.01) * Residual(_last + 0.01) < 0)
        {
            return _last = Root(Residual, _last - 0.01, _last + 0.01);
        }

        for (int i = 0; i < Directions; i++)
        {
            double low = driving - (Math.PI * (1 - (2.0 * i / Directions)));
            double high = low + (2 * Math.PI / Directions);
            if (Residual(low) * Residual(high) > 0)
            {
                continue;
            }

            double camera = Root(Residual, low, high);
            (_, double ahead, double along) = Contact(driving, camera);
            if (ahead > 0 && along > 0)
            {
                return _last = camera;
            }
        }

        throw new InvalidOperationException($"the two arms do not meet at a rod of {rodMm} mm");
    }

    // How far the tip is off the sliding arm's edge, how far ahead of that arm's hinge, and how much the tip's arm
    // points along the sliding one.
    private (double OffEdgeMm, double AheadMm, double Along) Contact(double driving, double camera)
    {
        (double sin, double cos) tipArm = Math.SinCos(isTipOnCameraArm ? camera : driving);
        (double sin, double cos) edge = Math.SinCos(isTipOnCameraArm ? driving : camera);
        (double X, double Y) tipHinge = isTipOnCameraArm ? (0, 0) : hinge;
        (double X, double Y) edgeHinge = isTipOnCameraArm ? hinge : (0, 0);
        double dx = tipHinge.X + (contactArmMm * tipArm.cos) - edgeHinge.X;
        double dy = tipHinge.Y + (contactArmMm * tipArm.sin) - edgeHinge.Y;
        double left = (edge.cos * dy) - (edge.sin * dx);
        return (left - (isTipOnCameraArm ? offsetMm : -offsetMm), (edge.cos * dx) + (edge.sin * dy),
            (tipArm.cos * edge.cos) + (tipArm.sin * edge.sin));
    }
}
