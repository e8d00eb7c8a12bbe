// Numbers to and from bytes, least significant byte first, as profiles and flash slots store them.

namespace Hourhinge.SharedMath.Profile;

/// <summary>Little-endian integers of 1 to 8 bytes. The caller has checked that the bytes are there.</summary>
public static class LittleEndian
{
    /// <summary>Writes the low <paramref name="size"/> bytes of a value; returns the index after them.</summary>
    public static int Put(byte[] bytes, int index, int size, long value)
    {
        for (int i = 0; i < size; i++)
        {
            bytes[index + i] = (byte)(value >> (8 * i));
        }

        return index + size;
    }

    /// <summary>Reads an unsigned value of up to 7 bytes, or a signed one of 8.</summary>
    public static long Get(byte[] bytes, int index, int size)
    {
        long value = 0;
        for (int i = size - 1; i >= 0; i--)
        {
            value = (value << 8) | bytes[index + i];
        }

        return value;
    }

    /// <summary>Reads a signed 32-bit value.</summary>
    public static int GetInt32(byte[] bytes, int index) => (int)(uint)Get(bytes, index, 4);
}
