// Every file that a command writes: complete, or not there at all. A file is written beside its place under a temporary
// name and renamed. What is still unfinished when the program is stopped is removed by DiscardUnfinished; what is made
// here is made under its lock, so that a thread that comes late cannot make it again.

using System.Text;

namespace Hourhinge.App.Common;

/// <summary>Writes files in one step. Errors are <see cref="InputException"/>: one sentence.</summary>
internal static class AtomicFile
{
    private static readonly Lock _gate = new();
    private static readonly HashSet<string> _unfinished = [];
    private static bool _closed;

    /// <summary>Rejects a place that cannot be written, before any work is done. <paramref name="option"/> begins the
    /// sentence; empty for an argument.</summary>
    public static void Check(FileInfo? file, string option)
    {
        if (file == null)
        {
            return;
        }

        string? folder = Path.GetDirectoryName(Target(file));
        string? problem = Directory.Exists(file.FullName) ? "it is a folder"
            : folder != null && !Directory.Exists(folder) ? $"there is no folder {folder}"
            : file is { Exists: true, IsReadOnly: true } && !IsDevice(file) ? "the file is read-only"
            : null;
        if (problem != null)
        {
            throw CannotWrite(file, option, problem);
        }
    }

    /// <summary>Writes a text as UTF-8.</summary>
    public static void Write(FileInfo file, string option, string text) =>
        Write(file, option, new UTF8Encoding(false).GetBytes(text));

    /// <summary>Writes bytes; an earlier file of that name is replaced.</summary>
    public static void Write(FileInfo file, string option, byte[] bytes)
    {
        Check(file, option);
        if (IsDevice(file))
        {
            Guarded(file, option, () => File.WriteAllBytes(file.FullName, bytes));
            return;
        }

        Place(file, option, bytes, overwrite: true);
    }

    /// <summary>Writes bytes into a file that must not exist yet; false, and nothing written, when it does.</summary>
    public static bool WriteNew(FileInfo file, string option, byte[] bytes)
    {
        if (File.Exists(file.FullName) || Directory.Exists(file.FullName))
        {
            return false;
        }

        Check(file, option);
        return Place(file, option, bytes, overwrite: false);
    }

    /// <summary>Rejects a place that is neither new nor an empty folder.</summary>
    public static void CheckNewFolder(DirectoryInfo place, string option)
    {
        place.Refresh();
        try
        {
            string? problem = File.Exists(place.FullName) ? "this is a file; name a folder"
                : place.Exists && place.EnumerateFileSystemInfos().Any()
                ? "the folder is not empty; name a new one, so that nothing is written over"
                : null;
            if (problem != null)
            {
                throw new InputException($"{option} {place}: {problem}.");
            }
        }
        catch (Exception e) when (e is IOException or UnauthorizedAccessException)
        {
            throw new InputException($"{option} {place}: cannot be written: {Reason(e)}.");
        }
    }

    /// <summary>Makes new folders and runs work that fills them, and makes none itself; when it fails or the program is
    /// stopped, they are removed.</summary>
    public static void FillFolders(DirectoryInfo place, string option, string[] folders, Action work)
    {
        // Once more: what is there by now is not ours to remove.
        CheckNewFolder(place, option);
        string[] all = place.Exists ? folders : [place.FullName];
        bool isDone = false;
        try
        {
            Begin(all, () => Array.ForEach(folders, f => Directory.CreateDirectory(f)));
            work();
            isDone = true;
        }
        catch (Exception e) when (e is IOException or UnauthorizedAccessException)
        {
            throw new InputException($"{option} {place}: cannot be written: {Reason(e)}.");
        }
        finally
        {
            Array.ForEach(all, folder => End(folder, isDone));
        }
    }

    /// <summary>Removes everything unfinished, and lets nothing new begin. For a program that is being
    /// stopped.</summary>
    public static void DiscardUnfinished()
    {
        lock (_gate)
        {
            _closed = true;
            foreach (string path in _unfinished)
            {
                Remove(path);
            }

            _unfinished.Clear();
        }
    }

    /// <summary>The system's reason in a few words, without the temporary name.</summary>
    public static string Reason(Exception e) => e switch
    {
        UnauthorizedAccessException => "permission is denied",
        DirectoryNotFoundException => "there is no such folder",
        _ => e.Message.Split(" : '")[0].TrimEnd('.'),
    };

    private static bool Place(FileInfo file, string option, byte[] bytes, bool overwrite)
    {
        string target = Target(file);
        string temporary = Path.Combine(Path.GetDirectoryName(target)!, $".hourhinge-{Guid.NewGuid():N}.new");
        try
        {
            Guarded(file, option, () =>
            {
                FileStream? made = null;
                Begin([temporary], () => made = new FileStream(temporary, FileMode.CreateNew, FileAccess.Write));
                using (FileStream stream = made!)
                {
                    stream.Write(bytes);
                    stream.Flush(flushToDisk: true);
                }

                if (!OperatingSystem.IsWindows() && File.Exists(target))
                {
                    File.SetUnixFileMode(temporary, File.GetUnixFileMode(target));
                }
            });
            if (!overwrite && File.Exists(target))
            {
                return false;
            }

            Guarded(file, option, () => File.Move(temporary, target, overwrite));
            return true;
        }
        finally
        {
            End(temporary, isDone: false); // Gone already when all went well.
        }
    }

    private static void Begin(string[] paths, Action make)
    {
        lock (_gate)
        {
            if (_closed)
            {
                throw new OperationCanceledException();
            }

            _unfinished.UnionWith(paths);
            make();
        }
    }

    private static void End(string path, bool isDone)
    {
        lock (_gate)
        {
            _unfinished.Remove(path);
            if (!isDone)
            {
                Remove(path);
            }
        }
    }

    private static void Remove(string path)
    {
        // A worker may still be writing into a folder, which then is not empty when its own turn comes.
        for (int attempt = 0; attempt < 12; attempt++)
        {
            try
            {
                if (Directory.Exists(path))
                {
                    Directory.Delete(path, recursive: true);
                }
                else
                {
                    File.Delete(path);
                }

                return;
            }
            catch (Exception e) when (e is IOException or UnauthorizedAccessException)
            {
                Thread.Sleep(20);
            }
        }
    }

    private static void Guarded(FileInfo file, string option, Action write)
    {
        try
        {
            write();
        }
        catch (Exception e) when (e is IOException or UnauthorizedAccessException or NotSupportedException)
        {
            throw CannotWrite(file, option, Reason(e));
        }
    }

    private static InputException CannotWrite(FileInfo file, string option, string reason) =>
        new($"{option} {file}: cannot be written: {reason}.".TrimStart());

    // Through a symbolic link to the file itself: the link stays.
    private static string Target(FileInfo file)
    {
        try
        {
            return File.ResolveLinkTarget(file.FullName, true)?.FullName ?? file.FullName;
        }
        catch (IOException)
        {
            return file.FullName;
        }
    }

    private static bool IsDevice(FileInfo file) => !OperatingSystem.IsWindows()
        && (file.FullName.StartsWith("/dev/", StringComparison.Ordinal)
            || file.FullName.StartsWith("/proc/", StringComparison.Ordinal));
}
