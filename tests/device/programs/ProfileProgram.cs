// Decodes the example profiles and evaluates each at ten thousand instants.

#nullable disable

using Hourhinge.SharedMath.Profile;

namespace Hourhinge.DeviceTests.Programs;

/// <summary>The profile format and the evaluator.</summary>
public static class ProfileProgram
{
    private const int Instants = 10000;

    /// <summary>Prints sums of positions and times, a hundred instants a line.</summary>
    public static void Run()
    {
        for (int i = 0; i < Inputs.Profiles.Length; i++)
        {
            byte[] bytes = Inputs.Profiles[i];
            ProfileCodec codec = new ProfileCodec();
            DriveProfile profile = codec.Decode(bytes, 0, bytes.Length);
            if (profile == null)
            {
                Out.Line("profile " + i + " " + codec.Error);
                continue;
            }

            Out.Line("profile " + i + " " + profile.DurationMs.Length + " segments, safety "
                + (ProfileSafety.Check(profile) ?? "ok") + ", again " + Crc32.Of(ProfileCodec.Encode(profile), 0,
                bytes.Length));
            Evaluate(profile, new Numbers((uint)i));
            byte[] damaged = new byte[bytes.Length];
            System.Array.Copy(bytes, 0, damaged, 0, bytes.Length);
            damaged[bytes.Length / 2] ^= 4;
            Out.Line("damaged " + (codec.Decode(damaged, 0, damaged.Length) == null ? codec.Error : "accepted"));
        }
    }

    private static void Evaluate(DriveProfile profile, Numbers numbers)
    {
        ProfileEvaluator evaluator = new ProfileEvaluator(profile);
        long positions = 0;
        long times = 0;
        for (int n = 1; n <= Instants; n++)
        {
            long time = numbers.Below(evaluator.EndUs + 1);
            long position = evaluator.PositionQ16(time);
            positions = unchecked((positions * 31) + position);
            if (n % 20 == 0)
            {
                times = unchecked((times * 31) + evaluator.TimeAtQ16(position));
            }

            if (n % 100 == 0)
            {
                Out.Line(n + " " + position + " " + positions + " " + times);
            }
        }
    }
}
