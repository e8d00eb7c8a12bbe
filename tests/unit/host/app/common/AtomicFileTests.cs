using Hourhinge.App.Common;

namespace Hourhinge.Tests.Host.App.Common;

/// <summary>A file is written completely or not at all, and the reason is one sentence.</summary>
public sealed class AtomicFileTests : IDisposable
{
    private readonly string _folder = Directory.CreateTempSubdirectory("atomic-").FullName;

    public void Dispose() => Directory.Delete(_folder, recursive: true);

    [Fact]
    public void Replaces_a_file_keeps_its_mode_and_leaves_nothing_else()
    {
        FileInfo file = At("a.txt");
        AtomicFile.Write(file, "--save", "one");
        if (!OperatingSystem.IsWindows())
        {
            File.SetUnixFileMode(file.FullName, UnixFileMode.UserRead | UnixFileMode.UserWrite);
        }

        AtomicFile.Write(At("a.txt"), "--save", "two");
        Assert.Equal("two", File.ReadAllText(file.FullName));
        Assert.True(OperatingSystem.IsWindows()
            || File.GetUnixFileMode(file.FullName) == (UnixFileMode.UserRead | UnixFileMode.UserWrite));
        Assert.Single(Directory.EnumerateFileSystemEntries(_folder));
    }

    [Fact]
    public void A_symbolic_link_stays_a_link()
    {
        AtomicFile.Write(At("real.txt"), "--save", "one");
        File.CreateSymbolicLink(At("link.txt").FullName, At("real.txt").FullName);
        AtomicFile.Write(At("link.txt"), "--save", "two");
        Assert.NotNull(At("link.txt").LinkTarget);
        Assert.Equal("two", File.ReadAllText(At("real.txt").FullName));
    }

    [Fact]
    public void A_new_file_never_replaces_one()
    {
        Assert.True(AtomicFile.WriteNew(At("new.txt"), "", "1"u8.ToArray()));
        Assert.False(AtomicFile.WriteNew(At("new.txt"), "", "2"u8.ToArray()));
        Assert.Equal("1", File.ReadAllText(At("new.txt").FullName));
        Assert.Single(Directory.EnumerateFileSystemEntries(_folder));
    }

    [Fact]
    public void A_place_that_cannot_be_written_is_named_and_nothing_is_left()
    {
        Directory.CreateDirectory(At("folder").FullName);
        AtomicFile.Write(At("locked.txt"), "--save", "kept");
        At("locked.txt").IsReadOnly = true;
        foreach ((string name, string reason) in new[] { ("folder", "it is a folder"),
            ("none/x.txt", "there is no folder"), ("locked.txt", "the file is read-only") })
        {
            InputException e =
                Assert.Throws<InputException>(() => AtomicFile.Write(At(name), "--save", "lost"));
            Assert.StartsWith("--save ", e.Message, StringComparison.Ordinal);
            Assert.Contains("cannot be written: " + reason, e.Message, StringComparison.Ordinal);
        }

        Assert.Equal("kept", File.ReadAllText(At("locked.txt").FullName));
        At("locked.txt").IsReadOnly = false;
        Assert.Equal(2, Directory.EnumerateFileSystemEntries(_folder).Count());
    }

    [SkippableFact]
    public void A_full_disk_is_one_sentence_and_nothing_is_left()
    {
        Skip.IfNot(File.Exists("/dev/full"), "only Linux has a device that is always full");
        InputException e = Assert.Throws<InputException>(() =>
            AtomicFile.Write(new FileInfo("/dev/full"), "--list", "lost"));
        Assert.Contains("No space left on device", e.Message, StringComparison.Ordinal);
    }

    [Fact]
    public void Folders_that_were_not_filled_are_removed()
    {
        var place = new DirectoryInfo(Path.Combine(_folder, "frames"));
        Assert.Throws<InputException>(() => AtomicFile.FillFolders(place, "--frames", [place.FullName], () =>
        {
            File.WriteAllText(Path.Combine(place.FullName, "frame-0001"), "half");
            throw new IOException("No space left on device : 'x'");
        }));
        Assert.False(Directory.Exists(place.FullName));
    }

    [Fact]
    public void What_another_program_put_there_meanwhile_stays()
    {
        var place = new DirectoryInfo(Path.Combine(_folder, "later"));
        AtomicFile.CheckNewFolder(place, "--frames");
        Directory.CreateDirectory(place.FullName);
        string theirs = Path.Combine(place.FullName, "frame-0001");
        File.WriteAllText(theirs, "whole");
        Assert.Throws<InputException>(() => AtomicFile.FillFolders(place, "--frames", [place.FullName],
            () => throw new IOException("No space left on device")));
        Assert.True(File.Exists(theirs));
    }

    private FileInfo At(string name) => new(Path.Combine(_folder, name));
}
