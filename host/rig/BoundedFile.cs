// Reads a small file whole, whatever the name stands for: a folder, a device without end and a pipe without a writer
// are errors after a bounded time and a bounded number of bytes.

namespace Hourhinge.Rig;

/// <summary>Reads files of bounded size.</summary>
public static class BoundedFile
{
    private static readonly TimeSpan _patience = TimeSpan.FromSeconds(5);

    /// <summary>All bytes of a file.</summary>
    /// <param name="path">The file.</param>
    /// <param name="maxBytes">Most bytes that it may have.</param>
    /// <param name="problem">What is wrong, as the end of a sentence; empty on success.</param>
    /// <returns>The bytes; null when there is a problem.</returns>
    public static byte[]? Read(string path, int maxBytes, out string problem)
    {
        if (Directory.Exists(path))
        {
            problem = "it is a folder, not a file";
            return null;
        }

        // Opening a named pipe waits for a writer; .NET cannot ask for the kind of a file. On its own thread:
        // a busy pool would be taken for a pipe.
        Task<byte[]> read = Task.Factory.StartNew(() => ReadUpTo(path, maxBytes + 1), CancellationToken.None,
            TaskCreationOptions.LongRunning, TaskScheduler.Default);
        try
        {
            if (!read.Wait(_patience))
            {
                problem =
                    $"nothing comes from it within {_patience.TotalSeconds} s; it may be a pipe instead of a file";
                return null;
            }
        }
        catch (AggregateException e) when (e.InnerException is IOException or UnauthorizedAccessException
            or ArgumentException or NotSupportedException)
        {
            problem = e.InnerException is FileNotFoundException or DirectoryNotFoundException
                ? "there is no such file"
                : e.InnerException is UnauthorizedAccessException
                ? "it may not be read"
                : e.InnerException!.Message.TrimEnd('.');
            return null;
        }

        problem = read.Result.Length > maxBytes
            ? $"it has more than {maxBytes} bytes, the largest size that is read here" : "";
        return problem.Length == 0 ? read.Result : null;
    }

    private static byte[] ReadUpTo(string path, int count)
    {
        using var stream = new FileStream(path, FileMode.Open, FileAccess.Read, FileShare.ReadWrite);
        using var bytes = new MemoryStream();
        byte[] buffer = new byte[1 << 16];
        while (bytes.Length < count)
        {
            int got = stream.Read(buffer, 0, (int)Math.Min(buffer.Length, count - bytes.Length));
            if (got == 0)
            {
                break;
            }

            bytes.Write(buffer, 0, got);
        }

        return bytes.ToArray();
    }
}
