// Sections 4 and 5 of a stored profile: the rig's parameters and the shutter program. The frame around them, and
// sections 1 to 3, are ProfileCodec.cs; the layout is shared-math/PROFILE.md.

namespace Hourhinge.SharedMath;

/// <summary>Writes and reads the two optional sections. The caller has checked that the bytes are there.</summary>
public static class ProfileExtras
{
    /// <summary>Length of a shutter program, bytes.</summary>
    public const int ShutterBytes = 24;

    /// <summary>Length of a rig's parameters as this version writes them, bytes.</summary>
    public const int RigBytes = RigParameters.Count * 8;

    /// <summary>Writes a rig's parameters; returns the index after them.</summary>
    public static int PutRig(byte[] bytes, int at, RigParameters rig)
    {
        for (int i = 0; i < RigParameters.Count; i++)
        {
            at = LittleEndian.Put(bytes, at, 8, rig.Values[i]);
        }

        return at;
    }

    /// <summary>Reads a rig's parameters; null when the length is not a whole number of values that are known.</summary>
    public static RigParameters GetRig(byte[] bytes, int at, int length)
    {
        if (length == 0 || length % 8 != 0 || length > RigBytes)
        {
            return null;
        }

        // Fewer values than are known: the rest keep their defaults, so that a later version can append.
        RigParameters rig = new RigParameters();
        for (int i = 0; i < length / 8; i++)
        {
            rig.Values[i] = LittleEndian.Get(bytes, at + (8 * i), 8);
        }

        return rig;
    }

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
