using Hourhinge.Rig;

namespace Hourhinge.App.Commands;

/// <summary>A rig file, read and compiled: what nearly every command starts with.</summary>
internal sealed record LoadedRig(string Path, byte[] File, Hourhinge.Rig.Rig Rig, CompiledDrive Drive)
{
    /// <summary>Reads and compiles; everything wrong is a <see cref="RigFileException"/>.</summary>
    public static LoadedRig From(FileInfo file)
    {
        string path = file.ToString();
        Hourhinge.Rig.Rig rig = RigReader.ReadFile(path, out byte[] bytes);
        return new LoadedRig(path, bytes, rig, RigDrive.Compile(rig, SharedMath.Crc32.Of(bytes, 0, bytes.Length)));
    }
}
