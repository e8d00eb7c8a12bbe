// What a controller holds, read back, and the sentence about it after an upload that went wrong.

using System.Globalization;
using System.IO.Hashing;
using Hourhinge.App.Link;

namespace Hourhinge.App.Upload;

/// <summary>The stored profile and rig file of a controller; empty where it holds none.</summary>
/// <param name="Slot">The slot in use, or -1.</param>
/// <param name="Sequence">The upload's number, which every stored profile gets anew.</param>
/// <param name="Name">The rig's name.</param>
/// <param name="Profile">The profile's bytes.</param>
/// <param name="RigFile">The rig file's bytes.</param>
internal sealed record HeldProfile(int Slot, long Sequence, string Name, byte[] Profile, byte[] RigFile)
{
    private const int ReadBackAttempts = 3;
    private const int PauseMs = 1000;

    /// <summary>CRC-32 of the profile, which is also its last four bytes.</summary>
    public uint Crc => Profile.Length < 4 ? 0 : Crc32.HashToUInt32(Profile.AsSpan(0, Profile.Length - 4));

    /// <summary>Reads it.</summary>
    public static HeldProfile Read(ControllerLink link)
    {
        double[] slot = link.QueryNumbers("PROFile:SLOT?", 2);
        if (slot[0] < 0)
        {
            return new HeldProfile(-1, 0, "", [], []);
        }

        byte[] profile = link.QueryBlock("PROFile:DATA?");
        byte[] rigFile = link.QueryBlock("RIG:DATA?");
        string name = link.Query("PROFile:NAME?").Trim('"');
        var held = new HeldProfile((int)slot[0], (long)slot[1], name, profile, rigFile);
        string crc = link.Query("PROFile:CRC?");
        return crc == held.Crc.ToString(CultureInfo.InvariantCulture)
            ? held
            : throw new DeviceException("the controller's profile was damaged on its way here; try again.");
    }

    /// <summary>True when it is this very upload.</summary>
    public bool Is(byte[] profile, byte[] rigFile) =>
        Profile.AsSpan().SequenceEqual(profile) && RigFile.AsSpan().SequenceEqual(rigFile);

    /// <summary>
    /// Connects again and reads what the controller holds; null when that is not possible. A new connection, and the
    /// clear that begins it, leave nothing of the old one to be executed later, so the answer is final.
    /// </summary>
    public static HeldProfile? ReadAgain(string port)
    {
        for (int attempt = 0; attempt < ReadBackAttempts; attempt++)
        {
            try
            {
                using ControllerLink link = ControllerLink.Open(port);
                return Read(link);
            }
            catch (DeviceException)
            {
                Thread.Sleep(PauseMs);
            }
        }

        return null;
    }

    /// <summary>What an upload that failed has left on the controller.</summary>
    /// <param name="now">What it holds now; null when that could not be read.</param>
    /// <param name="before">What it held before.</param>
    /// <param name="profile">The profile that was sent.</param>
    /// <param name="rigFile">The rig file that was sent.</param>
    /// <param name="port">For the advice.</param>
    public static string Sentence(HeldProfile? now, HeldProfile before, byte[] profile, byte[] rigFile, string port)
    {
        if (now == null)
        {
            return "It is not known whether the controller holds the old profile or the new one; it cannot be reached. "
                + $"Reconnect it, then: hourhinge device status --to {port}";
        }

        string name = $"`{ControllerLink.Shown(now.Name)}` (upload number {now.Sequence}, CRC-32 {now.Crc:X8})";
        bool unchanged = now.Slot == before.Slot && now.Sequence == before.Sequence && now.Crc == before.Crc;
        return now.Slot < 0 ? "Read back: the controller holds no profile. Upload again."
            : unchanged ? $"Read back: the controller still holds the profile it held before, {name}. Upload again."
            : now.Is(profile, rigFile) ? $"Read back: the controller holds the new profile {name} and its rig file."
            : now.Profile.AsSpan().SequenceEqual(profile)
                ? $"Read back: the controller holds the new profile {name}, but not its rig file. Upload again."
            : $"Read back: the controller holds another profile, {name}. Upload again.";
    }
}
