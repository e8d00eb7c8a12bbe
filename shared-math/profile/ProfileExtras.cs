// Sections 4 and 5 of a stored profile: the rig's parameters and the shutter program. The frame around them, and
// sections 1 to 3, are ProfileCodec.cs; the layout is shared-math/PROFILE.md.

using Hourhinge.SharedMath.Rig;

namespace Hourhinge.SharedMath.Profile;

/// <summary>Writes and reads the two optional sections. The caller has checked that the bytes are there.</summary>
public static class ProfileExtras
{
    /// <summary>Length of a shutter program, bytes.</summary>
    public const int ShutterBytes = 24;

    /// <summary>Length of a rig's parameters, bytes.</summary>
    public static int RigBytes(RigParameters rig)
    {
        int size = 0;
        for (int i = 0; i < RigParameters.Count; i++)
        {
            for (ulong left = ZigZag(rig.Values[i]); left >= 128; left >>= 7)
            {
                size++;
            }

            size++;
        }

        return size;
    }

    /// <summary>
    /// Writes a rig's parameters, seven bits a byte, least significant first, the top bit set while more follow;
    /// signs are zigzag-coded (0, -1, 1, -2, ...). Most values are small or 0, so a rig takes about 100 bytes.
    /// </summary>
    /// <returns>The index after them.</returns>
    public static int PutRig(byte[] bytes, int at, RigParameters rig)
    {
        for (int i = 0; i < RigParameters.Count; i++)
        {
            ulong left = ZigZag(rig.Values[i]);
            for (; left >= 128; left >>= 7)
            {
                bytes[at++] = (byte)(left | 128);
            }

            bytes[at++] = (byte)left;
        }

        return at;
    }

    /// <summary>Reads a rig's parameters; null when the bytes do not end with a complete, known value.</summary>
    public static RigParameters GetRig(byte[] bytes, int at, int length)
    {
        // Fewer values than are known: the rest keep their defaults, so that a later version can append.
        RigParameters rig = new RigParameters();
        int end = at + length;
        for (int i = 0; i < RigParameters.Count && at < end; i++)
        {
            ulong value = 0;
            int shift = 0;
            bool more = true;
            while (more)
            {
                if (at == end || shift > 56)
                {
                    return null;
                }

                value |= (ulong)(bytes[at] & 127) << shift;
                more = (bytes[at++] & 128) != 0;
                shift += 7;
            }

            rig.Values[i] = (long)(value >> 1) ^ -(long)(value & 1);
        }

        return length > 0 && at == end ? rig : null;
    }

    private static ulong ZigZag(long value) => (ulong)((value << 1) ^ (value >> 63));

    /// <summary>Writes a shutter program; returns the index after it.</summary>
    public static int PutShutter(byte[] bytes, int at, ShutterSettings s)
    {
        at = LittleEndian.Put(bytes, at, 4, s.Count);
        at = LittleEndian.Put(bytes, at, 4, s.ExposureMs);
        at = LittleEndian.Put(bytes, at, 4, s.GapMs);
        at = LittleEndian.Put(bytes, at, 4, s.SettleMs);
        at = LittleEndian.Put(bytes, at, 4, s.DitherMilliarcsec);
        return LittleEndian.Put(bytes, at, 4, s.StartsWithTracking ? 1 : 0);
    }

    /// <summary>Reads a shutter program; null when the length is wrong.</summary>
    public static ShutterSettings GetShutter(byte[] bytes, int at, int length)
    {
        if (length != ShutterBytes)
        {
            return null;
        }

        ShutterSettings s = new ShutterSettings();
        s.Count = LittleEndian.GetInt32(bytes, at);
        s.ExposureMs = LittleEndian.GetInt32(bytes, at + 4);
        s.GapMs = LittleEndian.GetInt32(bytes, at + 8);
        s.SettleMs = LittleEndian.GetInt32(bytes, at + 12);
        s.DitherMilliarcsec = LittleEndian.GetInt32(bytes, at + 16);
        s.StartsWithTracking = LittleEndian.GetInt32(bytes, at + 20) != 0;
        return s;
    }
}
