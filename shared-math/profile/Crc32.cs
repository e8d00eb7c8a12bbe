// The checksum of profiles and flash slots.

namespace Hourhinge.SharedMath.Profile;

/// <summary>CRC-32 with the IEEE 802.3 polynomial (reflected 0xEDB88320); of "123456789" it is CBF43926.</summary>
public static class Crc32
{
    private static readonly uint[] _table = MakeTable();

    /// <summary>CRC-32 of a range of bytes.</summary>
    public static uint Of(byte[] bytes, int index, int count)
    {
        uint crc = 0xFFFFFFFF;
        for (int i = index; i < index + count; i++)
        {
            crc = _table[(crc ^ bytes[i]) & 0xFF] ^ (crc >> 8);
        }

        return ~crc;
    }

    private static uint[] MakeTable()
    {
        uint[] table = new uint[256];
        for (uint i = 0; i < 256; i++)
        {
            uint value = i;
            for (int bit = 0; bit < 8; bit++)
            {
                value = (value & 1) != 0 ? (value >> 1) ^ 0xEDB88320 : value >> 1;
            }

            table[i] = value;
        }

        return table;
    }
}
