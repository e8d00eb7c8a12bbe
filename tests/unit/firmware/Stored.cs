// Puts profiles into a flash slot without the protocol.

using Hourhinge.Firmware.Storage;
using Hourhinge.SharedMath.Profile;

namespace Hourhinge.Tests.Firmware;

internal static class Stored
{
    public static bool Save(this ProfileStore store, byte[] profile, byte[] rig)
    {
        var codec = new ProfileCodec();
        DriveProfile? decoded = codec.Decode(profile, 0, profile.Length);
        Assert.True(decoded != null, codec.Error);
        return store.Save(decoded, profile, 0, profile.Length, rig);
    }
}
