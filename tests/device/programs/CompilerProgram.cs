// Compiles two hundred random rigs.

#nullable disable

using Hourhinge.SharedMath.Compile;
using Hourhinge.SharedMath.Profile;
using Hourhinge.SharedMath.Rig;

namespace Hourhinge.DeviceTests.Programs;

/// <summary>The profile compiler with its floating-point geometry.</summary>
public static class CompilerProgram
{
    private const int Rigs = 200;
    private const long Micro = 1000000;

    /// <summary>Prints each profile's check sum, or why there is none.</summary>
    public static void Run()
    {
        int compiled = 0;
        for (int i = 0; i < Rigs; i++)
        {
            RigParameters rig = Random(new Numbers((uint)(1000 + i)));
            RigCompiler compiler = new RigCompiler();
            DriveProfile profile = compiler.Compile(rig, null);
            if (profile == null)
            {
                Out.Line("rig " + i + " " + compiler.Error);
                continue;
            }

            compiled++;
            byte[] bytes = ProfileCodec.Encode(profile);
            Out.Line("rig " + i + " " + bytes.Length + " bytes " + Crc32.Of(bytes, 0, bytes.Length));
        }

        Out.Line("compiled " + compiled);
    }

    private static RigParameters Random(Numbers numbers)
    {
        RigParameters rig = new RigParameters();
        long[] v = rig.Values;
        v[RigParameters.Form] = numbers.Below(7);
        v[RigParameters.Opens] = numbers.Below(4) > 0 ? 1 : 0;
        v[RigParameters.NutArm] = Between(numbers, 200, 320);
        v[RigParameters.AnchorArm] = numbers.Below(2) == 0 ? v[RigParameters.NutArm] : Between(numbers, 200, 320);
        v[RigParameters.BendRadius] = Between(numbers, 230, 400);
        v[RigParameters.Radius] = Between(numbers, 180, 320);
        v[RigParameters.SurfaceOffset] = Between(numbers, 0, 20) - (10 * Micro);
        v[RigParameters.TipRadius] = Between(numbers, 0, 5);
        v[RigParameters.Pitch] = Micro;
        v[RigParameters.PitchDivisor] = 1;
        v[RigParameters.Shortest] = Between(numbers, 20, 60);
        v[RigParameters.Longest] = v[RigParameters.Shortest] + Between(numbers, 5, 70);
        v[RigParameters.Microsteps] = 1L << (int)numbers.Below(6);
        v[RigParameters.Follow] = numbers.Below(4);
        v[RigParameters.Latitude] = Between(numbers, 20, 60);
        v[RigParameters.Declination] = Between(numbers, 0, 60);
        v[RigParameters.HourAngle] = Between(numbers, 0, 4) - (2 * Micro);
        v[RigParameters.ContactArm] = Between(numbers, 120, 250);
        v[RigParameters.HingeDistance] = -Between(numbers, 40, 110);
        v[RigParameters.HingeHeight] = Between(numbers, 0, 20) - (10 * Micro);
        v[RigParameters.ContactOffset] = Between(numbers, 0, 16) - (8 * Micro);
        if (numbers.Below(3) == 0)
        {
            v[RigParameters.Periodic + 1] = 1 + numbers.Below(20000);
        }

        return rig;
    }

    private static long Between(Numbers numbers, long from, long to) =>
        (from * Micro) + numbers.Below((to - from) * Micro);
}
