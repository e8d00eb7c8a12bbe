using Hourhinge.Rig;
using Hourhinge.SharedMath.Profile;

namespace Hourhinge.App.Common;

/// <summary>A rig file, read and compiled.</summary>
internal sealed record LoadedRig(string Path, byte[] File, RigDescription Rig, CompiledDrive Drive)
{
    /// <summary>Reads and compiles; every error is a <see cref="RigFileException"/>.</summary>
    public static LoadedRig From(FileInfo file)
    {
        string path = file.ToString();
        RigDescription rig = RigReader.ReadFile(path, out byte[] bytes);
        try
        {
            return new LoadedRig(path, bytes, rig, RigDrive.Compile(rig, Crc32.Of(bytes, 0, bytes.Length)));
        }
        catch (RigFileException e)
        {
            throw new RigFileException($"{path}: {e.Message}");
        }
    }
}
