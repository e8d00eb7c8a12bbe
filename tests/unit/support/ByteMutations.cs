// Damage to bytes for the fuzz tests: flips, extremes, cuts, copies. Seeded, so that a failure can be repeated.

namespace Hourhinge.Tests.Support;

/// <summary>One to four random changes to a byte string.</summary>
public static class ByteMutations
{
    private static readonly byte[] _extremes = [0, 1, 0x7F, 0x80, 0xFE, 0xFF];

    /// <summary>A changed copy.</summary>
    public static byte[] Mutate(byte[] original, Random random)
    {
        List<byte> bytes = [.. original];
        for (int i = 1 + random.Next(4); i > 0 && bytes.Count > 0; i--)
        {
            int at = random.Next(bytes.Count);
            switch (random.Next(12))
            {
                case 0:
                    bytes.RemoveRange(at, random.Next(bytes.Count - at));
                    break;
                case 1:
                    bytes.InsertRange(at, bytes.GetRange(at, Math.Min(bytes.Count - at, random.Next(40))));
                    break;
                case 2:
                    bytes.Insert(at, (byte)random.Next(256));
                    break;
                case 3:
                case 4:
                    bytes[at] = _extremes[random.Next(_extremes.Length)];
                    break;
                case 5:
                    bytes[at] = (byte)random.Next(256);
                    break;
                default:
                    bytes[at] ^= (byte)(1 << random.Next(8));
                    break;
            }
        }

        return [.. bytes];
    }
}
