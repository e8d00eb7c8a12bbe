// Keeps the profile and the rig file in flash so that a power cut at any byte leaves the old pair or the new one.
// The layout of a slot, byte by byte, is firmware/STORAGE.md. No motion, no protocol here.

using Hourhinge.Firmware.Hardware;
using Hourhinge.SharedMath.Profile;

namespace Hourhinge.Firmware.Storage;

/// <summary>
/// Two slots. Saving writes the idle one: header cleared, payload written and read back, header last. A slot is valid
/// when its header and its payload match their CRCs; of two valid slots the later sequence number is used.
/// </summary>
public sealed class ProfileStore
{
    /// <summary>Largest rig file that rides along, bytes.</summary>
    public const int MaxRigBytes = StorageLayout.MaxRigBytes;

    private const int HeaderBytes = StorageLayout.HeaderBytes;
    private const int PayloadAt = StorageLayout.PayloadAt;

    // Added to the sequence number when a slot's own number could not be read: more than a flash survives in writes,
    // so that the unread slot never counts as the newer one.
    private const long UnreadableStep = 1000000;

    // Results of ReadHeader.
    private const int Valid = 0, Blank = 1, Damaged = 2, Unreadable = 3;
    private const long Magic = 0x6C536848; // "HhSl"

    private readonly IStorage _storage;
    private readonly ProfileCodec _codec = new ProfileCodec();
    private readonly byte[] _header = new byte[HeaderBytes];
    private readonly byte[] _check = new byte[256];

    /// <summary>Prepares the store; <see cref="Load"/> reads it.</summary>
    public ProfileStore(IStorage storage)
    {
        _storage = storage;
        Slot = -1;
    }

    /// <summary>The slot in use, 0 or 1; -1 when neither holds a profile.</summary>
    public int Slot { get; private set; }

    /// <summary>Sequence number of the slot in use.</summary>
    public long Sequence { get; private set; }

    /// <summary>The profile in use, decoded; null when there is none.</summary>
    public DriveProfile Profile { get; private set; }

    /// <summary>The bytes of the profile in use.</summary>
    public byte[] ProfileBytes { get; private set; }

    /// <summary>The rig file that belongs to the profile; empty when none came along.</summary>
    public byte[] RigBytes { get; private set; }

    /// <summary>
    /// True when a slot holds what cannot be read or does not match its CRC: the profile in use may be older than the
    /// last one that was stored. A successful <see cref="Save"/> clears it.
    /// </summary>
    public bool IsDamaged { get; private set; }

    /// <summary>Why the last <see cref="Save"/> failed, in words.</summary>
    public string Error { get; private set; }

    /// <summary>A copy of the profile in use, to be edited; the caller has checked that there is one.</summary>
    public DriveProfile CopyProfile() => _codec.Decode(ProfileBytes, 0, ProfileBytes.Length);

    /// <summary>Undoes every change of <see cref="Profile"/> since it was stored.</summary>
    public void DecodeAgain() => Profile = Profile == null ? null : CopyProfile();

    /// <summary>Finds the newest valid slot. Called once after power-up.</summary>
    public void Load()
    {
        Slot = -1;
        Profile = null;
        RigBytes = new byte[0];
        int firstState = ReadHeader(0, out long first);
        int secondState = ReadHeader(1, out long second);
        IsDamaged = firstState >= Damaged || secondState >= Damaged;
        int newer = second > first ? 1 : 0;
        if (!LoadSlot(newer))
        {
            IsDamaged |= (newer == 0 ? firstState : secondState) == Valid;
            LoadSlot(1 - newer);
        }
        else if ((newer == 0 ? secondState : firstState) == Valid)
        {
            IsDamaged |= !PayloadIsGood(1 - newer);
        }
    }

    /// <summary>
    /// Stores a profile and its rig file. True when they have been written, read back and made current; on false
    /// the old pair is still current and still in flash.
    /// </summary>
    /// <param name="profile">The profile, decoded from the bytes that follow.</param>
    /// <param name="bytes">Where its bytes are.</param>
    /// <param name="index">Index of the first one.</param>
    /// <param name="profileCount">How many there are.</param>
    /// <param name="rig">The rig file; empty for none.</param>
    public bool Save(DriveProfile profile, byte[] bytes, int index, int profileCount, byte[] rig)
    {
        Error = null;
        int rigCount = rig.Length;
        if (PayloadAt + profileCount + rigCount > _storage.AreaSizeBytes)
        {
            Error = "profile and rig file do not fit in flash";
            return false;
        }

        int firstState = ReadHeader(0, out long first);
        int secondState = ReadHeader(1, out long second);
        int target = Slot >= 0 ? 1 - Slot : first > second ? 1 : 0;
        long newest = first > second ? first : second;
        newest = Slot >= 0 && Sequence > newest ? Sequence : newest;
        bool unread = firstState == Unreadable || secondState == Unreadable;
        long sequence = (newest < 0 ? 0 : newest) + (unread ? UnreadableStep : 1);
        byte[] payload = new byte[profileCount + rigCount];
        System.Array.Copy(bytes, index, payload, 0, profileCount);
        System.Array.Copy(rig, 0, payload, profileCount, rigCount);

        byte[] header = new byte[HeaderBytes];
        bool written = _storage.Write(target, 0, header, 0, HeaderBytes)
            && _storage.Write(target, PayloadAt, payload, 0, payload.Length)
            && Matches(target, PayloadAt, payload);
        if (written)
        {
            int at = LittleEndian.Put(header, 0, 4, Magic);
            at = LittleEndian.Put(header, at, 4, sequence);
            at = LittleEndian.Put(header, at, 4, profileCount);
            at = LittleEndian.Put(header, at, 4, rigCount);
            at = LittleEndian.Put(header, at, 4, Crc32.Of(payload, 0, payload.Length));
            LittleEndian.Put(header, at, 4, Crc32.Of(header, 0, at));
            written = _storage.Write(target, 0, header, 0, HeaderBytes)
                && Matches(target, 0, header) && Matches(target, PayloadAt, payload);
        }

        if (written)
        {
            byte[] profileBytes = new byte[profileCount];
            System.Array.Copy(payload, 0, profileBytes, 0, profileCount);
            byte[] rigBytes = new byte[rigCount];
            System.Array.Copy(rig, 0, rigBytes, 0, rigCount);
            Use(target, sequence, profile, profileBytes, rigBytes);
            IsDamaged = false;
        }
        else
        {
            Error = "the profile could not be written to flash";
            // A header that was written but could not be read back must not win at the next power-up.
            _storage.Write(target, 0, new byte[HeaderBytes], 0, HeaderBytes);
        }

        return written;
    }

    private bool LoadSlot(int slot)
    {
        if (ReadHeader(slot, out long sequence) != Valid)
        {
            return false;
        }

        int profileCount = LittleEndian.GetInt32(_header, 8);
        int rigCount = LittleEndian.GetInt32(_header, 12);
        uint crc = (uint)LittleEndian.Get(_header, 16, 4);
        byte[] profileBytes = new byte[profileCount];
        byte[] rigBytes = new byte[rigCount];
        if (_storage.Read(slot, PayloadAt, profileBytes, 0, profileCount) != profileCount
            || _storage.Read(slot, PayloadAt + profileCount, rigBytes, 0, rigCount) != rigCount)
        {
            return false;
        }

        byte[] payload = new byte[profileCount + rigCount];
        System.Array.Copy(profileBytes, 0, payload, 0, profileCount);
        System.Array.Copy(rigBytes, 0, payload, profileCount, rigCount);
        DriveProfile profile = Crc32.Of(payload, 0, payload.Length) == crc
            ? _codec.Decode(profileBytes, 0, profileCount)
            : null;
        if (profile == null)
        {
            return false;
        }

        Use(slot, sequence, profile, profileBytes, rigBytes);
        return true;
    }

    private void Use(int slot, long sequence, DriveProfile profile, byte[] profileBytes, byte[] rigBytes)
    {
        Slot = slot;
        Sequence = sequence;
        Profile = profile;
        ProfileBytes = profileBytes;
        RigBytes = rigBytes;
    }

    private int ReadHeader(int slot, out long sequence)
    {
        sequence = -1;
        int count = _storage.Read(slot, 0, _header, 0, HeaderBytes);
        if (count != HeaderBytes)
        {
            return count == 0 ? Blank : Unreadable;
        }

        if (LittleEndian.Get(_header, 0, 4) == Magic
            && (uint)LittleEndian.Get(_header, 20, 4) == Crc32.Of(_header, 0, 20)
            && LittleEndian.Get(_header, 8, 4) <= ProfileCodec.MaxBytes
            && LittleEndian.Get(_header, 12, 4) <= MaxRigBytes)
        {
            sequence = LittleEndian.Get(_header, 4, 4);
            return Valid;
        }

        // Erased flash is FF, and a save begins with zeros; a save that was cut may end in either.
        bool blank = true;
        for (int i = 1; i < HeaderBytes; i++)
        {
            blank &= _header[i] == _header[0];
        }

        return blank && (_header[0] == 0 || _header[0] == 0xFF) ? Blank : Damaged;
    }

    // Only at power-up.
    private bool PayloadIsGood(int slot)
    {
        if (ReadHeader(slot, out _) != Valid)
        {
            return false;
        }

        int left = LittleEndian.GetInt32(_header, 8) + LittleEndian.GetInt32(_header, 12);
        uint wanted = (uint)LittleEndian.Get(_header, 16, 4);
        byte[] payload = new byte[left];
        return _storage.Read(slot, PayloadAt, payload, 0, left) == left && Crc32.Of(payload, 0, left) == wanted;
    }

    private bool Matches(int slot, int offset, byte[] expected)
    {
        for (int at = 0; at < expected.Length; at += _check.Length)
        {
            int count = expected.Length - at < _check.Length ? expected.Length - at : _check.Length;
            if (_storage.Read(slot, offset + at, _check, 0, count) != count)
            {
                return false;
            }

            for (int i = 0; i < count; i++)
            {
                if (_check[i] != expected[at + i])
                {
                    return false;
                }
            }
        }

        return true;
    }
}
