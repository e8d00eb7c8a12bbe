// Signatures of nanoFramework.System.IO.Streams, where Stream lives. Compile-time only: no body here ever runs.

namespace System.IO;

/// <summary>Origin of a seek.</summary>
public enum SeekOrigin
{
    Begin = 0,
    Current = 1,
    End = 2,
}

/// <summary>A sequence of bytes.</summary>
public abstract class Stream : MarshalByRefObject, IDisposable
{
    public abstract bool CanRead { get; }

    public abstract bool CanSeek { get; }

    public virtual bool CanTimeout => throw new NotImplementedException();

    public abstract bool CanWrite { get; }

    public abstract long Length { get; }

    public abstract long Position { get; set; }

    public virtual int ReadTimeout
    {
        get => throw new NotImplementedException();
        set => throw new NotImplementedException();
    }

    public virtual int WriteTimeout
    {
        get => throw new NotImplementedException();
        set => throw new NotImplementedException();
    }

    public virtual void Close() => throw new NotImplementedException();

    public void CopyTo(Stream destination) => throw new NotImplementedException();

    public void Dispose() => throw new NotImplementedException();

    public abstract void Flush();

    public abstract long Seek(long offset, SeekOrigin origin);

    public abstract void SetLength(long value);

    public abstract int Read(SpanByte buffer);

    public abstract int Read(byte[] buffer, int offset, int count);

    public virtual int ReadByte() => throw new NotImplementedException();

    public abstract void Write(byte[] buffer, int offset, int count);

    public virtual void WriteByte(byte value) => throw new NotImplementedException();

    protected virtual void Dispose(bool disposing) => throw new NotImplementedException();
}
