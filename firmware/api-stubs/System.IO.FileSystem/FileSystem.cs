// Signatures of nanoFramework.System.IO.FileSystem. Compile-time only: no body here ever runs.

namespace System.IO;

/// <summary>How a file is opened.</summary>
public enum FileMode
{
    CreateNew = 1,
    Create = 2,
    Open = 3,
    OpenOrCreate = 4,
    Truncate = 5,
    Append = 6,
}

/// <summary>What an open file is for.</summary>
[Flags]
public enum FileAccess
{
    Read = 1,
    Write = 2,
    ReadWrite = 3,
}

/// <summary>An open file.</summary>
public class FileStream : Stream
{
    public FileStream(string path, FileMode mode) => throw new NotImplementedException();

    public FileStream(string path, FileMode mode, FileAccess access) => throw new NotImplementedException();

    public override bool CanRead => throw new NotImplementedException();

    public override bool CanSeek => throw new NotImplementedException();

    public override bool CanWrite => throw new NotImplementedException();

    public override long Length => throw new NotImplementedException();

    public override long Position
    {
        get => throw new NotImplementedException();
        set => throw new NotImplementedException();
    }

    public string Name => throw new NotImplementedException();


    public override void Close() => throw new NotImplementedException();

    public override void Flush() => throw new NotImplementedException();

    public override int Read(SpanByte buffer) => throw new NotImplementedException();

    public override int Read(byte[] buffer, int offset, int count) => throw new NotImplementedException();

    public override int ReadByte() => throw new NotImplementedException();

    public override long Seek(long offset, SeekOrigin origin) => throw new NotImplementedException();

    public override void SetLength(long value) => throw new NotImplementedException();

    public override void Write(byte[] buffer, int offset, int count) => throw new NotImplementedException();

    public override void WriteByte(byte value) => throw new NotImplementedException();

    protected override void Dispose(bool disposing) => throw new NotImplementedException();
}

/// <summary>Files by name.</summary>
public static class File
{
    public static void Copy(string sourceFileName, string destFileName) => throw new NotImplementedException();

    public static void Copy(string sourceFileName, string destFileName, bool overwrite) =>
        throw new NotImplementedException();

    public static FileStream Create(string path) => throw new NotImplementedException();

    public static void Delete(string path) => throw new NotImplementedException();

    public static bool Exists(string path) => throw new NotImplementedException();

    public static void Move(string sourceFileName, string destFileName) => throw new NotImplementedException();
}
