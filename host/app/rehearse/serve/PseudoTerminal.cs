using System.Runtime.InteropServices;
using Hourhinge.App.Common;
using Hourhinge.App.Link;
using Microsoft.Win32.SafeHandles;

namespace Hourhinge.App.Rehearse.Serve;

/// <summary>A pseudo-terminal in raw mode: its slave path is a serial port to any program on this machine (POSIX
/// only).</summary>
internal sealed partial class PseudoTerminal : IDisposable
{
    private const int ReadWrite = 2;
    private const int NoControllingTerminal = 0x100;

    private readonly SafeFileHandle _master;
    private readonly SafeFileHandle _slave;

    private PseudoTerminal(SafeFileHandle master, SafeFileHandle slave, string path)
    {
        _master = master;
        _slave = slave;
        Path = path;
        Stream = new FileStream(master, FileAccess.ReadWrite, 1);
    }

    /// <summary>The name to open as a serial port.</summary>
    public string Path { get; }

    /// <summary>The controller's side.</summary>
    public Stream Stream { get; }

    /// <summary>Opens a pair; the slave stays open here too, so that the master never sees an end of file.</summary>
    public static PseudoTerminal Open()
    {
        if (!OperatingSystem.IsLinux())
        {
            throw new InputException("--pty: pseudo-terminals are served on Linux only; use the TCP port.");
        }

        int master = OpenMaster(ReadWrite | NoControllingTerminal);
        byte[] name = new byte[256];
        if (master < 0 || Grant(master) != 0 || Unlock(master) != 0 || Name(master, name, name.Length) != 0)
        {
            throw new DeviceException("--pty: the system gives no pseudo-terminal.");
        }

        string path = System.Text.Encoding.ASCII.GetString(name, 0, Array.IndexOf(name, (byte)0));
        int slave = OpenFile(path, ReadWrite | NoControllingTerminal);
        // Raw: no echo, no line editing, every byte as it is. The structure's size is the C library's affair; 256
        // covers it.
        byte[] settings = new byte[256];
        if (slave < 0 || GetAttributes(slave, settings) != 0)
        {
            throw new DeviceException("--pty: the pseudo-terminal cannot be opened.");
        }

        MakeRaw(settings);
        SetAttributes(slave, 0, settings);
        return new PseudoTerminal(new SafeFileHandle(master, true), new SafeFileHandle(slave, true), path);
    }

    public void Dispose()
    {
        _slave.Dispose();
        _master.Dispose();
    }

    [LibraryImport("libc", EntryPoint = "posix_openpt")]
    private static partial int OpenMaster(int flags);

    [LibraryImport("libc", EntryPoint = "grantpt")]
    private static partial int Grant(int fd);

    [LibraryImport("libc", EntryPoint = "unlockpt")]
    private static partial int Unlock(int fd);

    [LibraryImport("libc", EntryPoint = "ptsname_r")]
    private static partial int Name(int fd, [Out] byte[] name, nint size);

    [LibraryImport("libc", EntryPoint = "open", StringMarshalling = StringMarshalling.Utf8)]
    private static partial int OpenFile(string path, int flags);

    [LibraryImport("libc", EntryPoint = "tcgetattr")]
    private static partial int GetAttributes(int fd, [Out] byte[] settings);

    [LibraryImport("libc", EntryPoint = "tcsetattr")]
    private static partial int SetAttributes(int fd, int when, byte[] settings);

    [LibraryImport("libc", EntryPoint = "cfmakeraw")]
    private static partial void MakeRaw([In, Out] byte[] settings);
}
