using Hourhinge.SharedMath.Geometry;
using Hourhinge.SharedMath.Rig;

namespace Hourhinge.Tests.SharedMath.Geometry;

/// <summary>Random double arms of both layouts, on either rod, with unequal arms, heights and offsets.</summary>
internal static class DoubleArms
{
    public static DoubleArmHinge Random(Random r)
    {
        while (true)
        {
            double arm = Between(r, 120, 400);
            HingeGeometry drive = r.Next(2) == 0
                ? new SwivelledRodHinge(arm, r.Next(2) == 0 ? arm : arm * Between(r, 0.7, 1.3), 0)
                : new FixedRodHinge(arm, Between(r, -10, 10), Between(r, 0, 5));
            bool isTipOnCameraArm = r.Next(2) == 0;
            double contact = Between(r, 80, 400);
            double distance = isTipOnCameraArm ? Between(r, -1.5, 0.4) * contact : Between(r, -0.5, 2.5) * contact;
            DoubleArmHinge hinge = new(drive, isTipOnCameraArm, contact, distance, Between(r, -15, 15),
                Between(r, -12, 12));
            if (hinge.MaxAngleRad - hinge.MinAngleRad > 0.1)
            {
                return hinge;
            }
        }
    }

    /// <summary>Sets the numbers of a second arm that suits any rod.</summary>
    public static void Set(RigParameters rig, Random r)
    {
        rig.Set(RigParameters.ContactArm, Between(r, 150, 250));
        rig.Set(RigParameters.HingeDistance, Between(r, -110, -40));
        rig.Set(RigParameters.HingeHeight, Between(r, -8, 8));
        rig.Set(RigParameters.ContactOffset, Between(r, -8, 8));
    }

    private static double Between(Random r, double low, double high) => low + (r.NextDouble() * (high - low));
}
