// Encodes and decodes profiles. The layout, byte by byte, is shared-math/PROFILE.md.

namespace Hourhinge.SharedMath.Profile;

/// <summary>
/// Little-endian, versioned, with a CRC-32 at the end. Decoding invalid bytes gives an error text and never an
/// exception; a profile that is accepted is safe to run: rising, continuous, and within every limit of the evaluator.
/// </summary>
public sealed class ProfileCodec
{
    /// <summary>Newest version that this code writes and reads; it also reads and rewrites version 1.</summary>
    public const int Version = DriveProfile.ImplicitTerms;

    /// <summary>Largest encoded profile, bytes.</summary>
    public const int MaxBytes = 4096;

    /// <summary>Longest rig name, characters.</summary>
    public const int MaxNameLength = 31;

    private const int FixedHeader = 68;
    private const int SegmentBytes = 28;
    private const int TagSegments = 1;
    private const int TagPeriodic = 2;
    private const int TagDc = 3;
    private const int TagRig = 4;
    private const int TagShutter = 5;
    private static readonly byte[] _magic = { (byte)'H', (byte)'h', (byte)'D', (byte)'P' };

    private byte[] _bytes;
    private int _at;
    private int _end;
    private DriveProfile _profile;

    /// <summary>Why the last <see cref="Decode"/> failed; null after a success.</summary>
    public string Error { get; private set; }

    /// <summary>Bytes of a profile. The profile comes from the compiler, so it is within every limit.</summary>
    public static byte[] Encode(DriveProfile profile)
    {
        int segments = profile.DurationMs.Length;
        int terms = profile.PeriodQ16.Length;
        int size = FixedHeader + 1 + profile.RigName.Length + 4 + (segments * SegmentBytes) + 4;
        int termBytes = TermBytes(profile.Version);
        size += terms > 0 ? 4 + (terms * termBytes) : 0;
        size += profile.Dc != null ? 4 + DcBytes(profile.Dc) : 0;

        size += profile.Rig != null ? 4 + ProfileExtras.RigBytes(profile.Rig) : 0;
        size += profile.Shutter != null ? 4 + ProfileExtras.ShutterBytes : 0;

        byte[] bytes = new byte[size];
        int at = 0;
        for (int i = 0; i < 4; i++)
        {
            bytes[at++] = _magic[i];
        }

        at = LittleEndian.Put(bytes, at, 1, profile.Version);
        at = LittleEndian.Put(bytes, at, 1, profile.DriveKind);
        at = LittleEndian.Put(bytes, at, 2, profile.Flags);
        at = LittleEndian.Put(bytes, at, 4, size);
        at = LittleEndian.Put(bytes, at, 4, profile.RigDigest);
        at = LittleEndian.Put(bytes, at, 8, profile.Counts);
        at = LittleEndian.Put(bytes, at, 8, profile.NutTurns);
        at = LittleEndian.Put(bytes, at, 4, profile.RewindCountsPerSec);
        at = LittleEndian.Put(bytes, at, 4, profile.RampCountsPerSec2);
        at = LittleEndian.Put(bytes, at, 4, profile.PullInCountsPerSec);
        at = LittleEndian.Put(bytes, at, 4, profile.ApproachCountsPerSec);
        at = LittleEndian.Put(bytes, at, 4, profile.BackOffCounts);
        at = LittleEndian.Put(bytes, at, 4, profile.ClockTrimPpb);
        at = LittleEndian.Put(bytes, at, 4, profile.MicroArcsecPerCount);
        at = LittleEndian.Put(bytes, at, 8, 0);
        at = LittleEndian.Put(bytes, at, 1, profile.RigName.Length);
        for (int i = 0; i < profile.RigName.Length; i++)
        {
            bytes[at++] = (byte)profile.RigName[i];
        }

        bool narrow = profile.Version == DriveProfile.ExplicitTerms;
        at = PutTag(bytes, at, TagSegments, segments * SegmentBytes);
        for (int i = 0; i < segments; i++)
        {
            at = LittleEndian.Put(bytes, at, 4, profile.DurationMs[i]);
            at = narrow ? LittleEndian.Put(bytes, at, 8, profile.Start[i]) : at;
            at = LittleEndian.Put(bytes, at, 8, profile.Linear[i]);
            at = LittleEndian.Put(bytes, at, narrow ? 4 : 8, profile.Square[i]);
            at = LittleEndian.Put(bytes, at, narrow ? 4 : 8, profile.Cube[i]);
        }

        if (terms > 0)
        {
            at = PutTag(bytes, at, TagPeriodic, terms * termBytes);
            for (int i = 0; i < terms; i++)
            {
                at = LittleEndian.Put(bytes, at, 8, profile.PeriodQ16[i]);
                at = LittleEndian.Put(bytes, at, termBytes - 12, profile.AmplitudeQ16[i]);
                at = LittleEndian.Put(bytes, at, 4, profile.Phase[i]);
            }
        }

        if (profile.Dc != null)
        {
            at = PutDc(bytes, at, profile.Dc);
        }

        if (profile.Rig != null)
        {
            at = ProfileExtras.PutRig(bytes, PutTag(bytes, at, TagRig, ProfileExtras.RigBytes(profile.Rig)),
                profile.Rig);
        }

        if (profile.Shutter != null)
        {
            at = ProfileExtras.PutShutter(bytes, PutTag(bytes, at, TagShutter, ProfileExtras.ShutterBytes),
                profile.Shutter);
        }

        LittleEndian.Put(bytes, at, 4, Crc32.Of(bytes, 0, at));
        return bytes;
    }

    /// <summary>Reads a profile from a range of bytes; null, with <see cref="Error"/> set, when they are not a valid
    /// one.</summary>
    public DriveProfile Decode(byte[] bytes, int index, int count)
    {
        Error = null;
        _bytes = bytes;
        _at = index;
        _end = index + count - 4;
        _profile = new DriveProfile();
        if (count < FixedHeader + 9 || count > MaxBytes)
        {
            return Fail("a profile has 77 to 4096 bytes");
        }

        for (int i = 0; i < 4; i++)
        {
            if (bytes[index + i] != _magic[i])
            {
                return Fail("this is not a drive profile");
            }
        }

        _profile.Version = bytes[index + 4];
        if (_profile.Version != DriveProfile.ExplicitTerms && _profile.Version != Version)
        {
            return Fail("profile version " + bytes[index + 4] + " is not one that this firmware reads, 1 or 2");
        }

        if (LittleEndian.Get(bytes, index + 8, 4) != count)
        {
            return Fail("the profile's length field does not match its length");
        }

        if ((uint)LittleEndian.Get(bytes, _end, 4) != Crc32.Of(bytes, index, count - 4))
        {
            return Fail("the profile's CRC-32 is wrong");
        }

        string error = ReadHeader();
        while (error == null && _at < _end)
        {
            error = ReadSection();
        }

        error ??= ProfileSafety.Check(_profile);
        return error == null ? _profile : Fail(error);
    }

    private DriveProfile Fail(string why)
    {
        Error = why;
        return null;
    }

    private string ReadHeader()
    {
        _at += 5;
        _profile.DriveKind = (int)ReadInt64(1);
        _profile.Flags = (int)ReadInt64(2);
        _at += 4;
        _profile.RigDigest = (uint)ReadInt64(4);
        _profile.Counts = ReadInt64(8);
        _profile.NutTurns = ReadInt64(8);
        _profile.RewindCountsPerSec = ReadInt32();
        _profile.RampCountsPerSec2 = ReadInt32();
        _profile.PullInCountsPerSec = ReadInt32();
        _profile.ApproachCountsPerSec = ReadInt32();
        _profile.BackOffCounts = ReadInt32();
        _profile.ClockTrimPpb = ReadInt32();
        _profile.MicroArcsecPerCount = ReadInt32();
        if (ReadInt64(8) != 0)
        {
            return "the profile's reserved bytes are not 0";
        }

        int length = (int)ReadInt64(1);
        if (length > MaxNameLength || _at + length > _end)
        {
            return "the rig's name is longer than 31 characters";
        }

        char[] name = new char[length];
        for (int i = 0; i < length; i++)
        {
            name[i] = (char)ReadInt64(1);
            if (name[i] < ' ' || name[i] > '~')
            {
                return "the rig's name is not printable ASCII";
            }
        }

        _profile.RigName = new string(name);
        return null;
    }

    private string ReadSection()
    {
        if (_at + 4 > _end)
        {
            return "a section is cut short";
        }

        int tag = (int)ReadInt64(1);
        bool reservedIsZero = ReadInt64(1) == 0;
        int length = (int)ReadInt64(2);
        if (!reservedIsZero || _at + length > _end)
        {
            return "a section is cut short";
        }

        if (tag == TagSegments && length % SegmentBytes == 0 && _profile.DurationMs.Length == 0)
        {
            ReadSegments(length / SegmentBytes);
            return null;
        }

        if (tag == TagPeriodic && length % TermBytes(_profile.Version) == 0 && _profile.PeriodQ16.Length == 0)
        {
            ReadTerms(length / TermBytes(_profile.Version));
            return null;
        }

        if (tag == TagDc && _profile.Dc == null)
        {
            return ReadDc(length);
        }

        if (tag == TagRig && _profile.Rig == null)
        {
            _profile.Rig = ProfileExtras.GetRig(_bytes, _at, length);
            _at += length;
            return _profile.Rig == null ? "the rig parameters are of an odd length" : null;
        }

        if (tag == TagShutter && _profile.Shutter == null)
        {
            _profile.Shutter = ProfileExtras.GetShutter(_bytes, _at, length);
            _at += length;
            return _profile.Shutter == null ? "the shutter program is of an odd length" : null;
        }

        return "section " + tag + " is unknown, repeated or of an odd length";
    }

    private void ReadSegments(int segments)
    {
        bool narrow = _profile.Version == DriveProfile.ExplicitTerms;
        long end = 0;
        _profile.DurationMs = new int[segments];
        _profile.Start = new long[segments];
        _profile.Linear = new long[segments];
        _profile.Square = new long[segments];
        _profile.Cube = new long[segments];
        for (int i = 0; i < segments; i++)
        {
            _profile.DurationMs[i] = ReadInt32();
            _profile.Start[i] = narrow ? ReadInt64(8) : end;
            _profile.Linear[i] = ReadInt64(8);
            _profile.Square[i] = narrow ? ReadInt32() : ReadInt64(8);
            _profile.Cube[i] = narrow ? ReadInt32() : ReadInt64(8);
            end = _profile.Start[i] + _profile.Linear[i] + _profile.Square[i] + _profile.Cube[i];
        }
    }

    private void ReadTerms(int terms)
    {
        _profile.PeriodQ16 = new long[terms];
        _profile.AmplitudeQ16 = new long[terms];
        _profile.Phase = new uint[terms];
        for (int i = 0; i < terms; i++)
        {
            _profile.PeriodQ16[i] = ReadInt64(8);
            _profile.AmplitudeQ16[i] =
                _profile.Version == DriveProfile.ExplicitTerms ? ReadInt32() : ReadInt64(8);
            _profile.Phase[i] = (uint)ReadInt64(4);
        }
    }

    private static int TermBytes(int version) => version == DriveProfile.ExplicitTerms ? 16 : 20;

    private static int DcBytes(DcSettings dc) => 24 + (dc.CurveDuty.Length * 8);

    private static int PutDc(byte[] bytes, int at, DcSettings dc)
    {
        at = PutTag(bytes, at, TagDc, DcBytes(dc));
        at = LittleEndian.Put(bytes, at, 4, dc.CurveMillivolts);
        at = LittleEndian.Put(bytes, at, 4, dc.BreakAwayDuty);
        at = LittleEndian.Put(bytes, at, 4, dc.ProportionalQ8);
        at = LittleEndian.Put(bytes, at, 4, dc.IntegralQ8);
        at = LittleEndian.Put(bytes, at, 4, dc.MinMillivolts);
        at = LittleEndian.Put(bytes, at, 4, dc.CurveDuty.Length);
        for (int i = 0; i < dc.CurveDuty.Length; i++)
        {
            at = LittleEndian.Put(bytes, at, 4, dc.CurveDuty[i]);
            at = LittleEndian.Put(bytes, at, 4, dc.CurveMilliCountsPerSec[i]);
        }

        return at;
    }

    private string ReadDc(int length)
    {
        DcSettings dc = new DcSettings();
        int points = length >= 24 ? LittleEndian.GetInt32(_bytes, _at + 20) : -1;
        if (points < 0 || points > 32 || length != 24 + (points * 8))
        {
            return "the DC settings are of an odd length";
        }

        dc.CurveMillivolts = ReadInt32();
        dc.BreakAwayDuty = ReadInt32();
        dc.ProportionalQ8 = ReadInt32();
        dc.IntegralQ8 = ReadInt32();
        dc.MinMillivolts = ReadInt32();
        _at += 4;
        dc.CurveDuty = new int[points];
        dc.CurveMilliCountsPerSec = new int[points];
        for (int i = 0; i < points; i++)
        {
            dc.CurveDuty[i] = ReadInt32();
            dc.CurveMilliCountsPerSec[i] = ReadInt32();
        }

        _profile.Dc = dc;
        return null;
    }

    private static int PutTag(byte[] bytes, int at, int tag, int length)
    {
        at = LittleEndian.Put(bytes, at, 2, tag);
        return LittleEndian.Put(bytes, at, 2, length);
    }

    private long ReadInt64(int size)
    {
        long value = LittleEndian.Get(_bytes, _at, size);
        _at += size;
        return value;
    }

    private int ReadInt32() => (int)(uint)ReadInt64(4);
}
