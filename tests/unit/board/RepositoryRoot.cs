// Where the repository's own files are, for tests that read them.

namespace Hourhinge.Tests.Board;

internal static class RepositoryRoot
{
    /// <summary>The folder that holds Hourhinge.slnx.</summary>
    public static string Path { get; } = Find();

    private static string Find()
    {
        DirectoryInfo? folder = new(AppContext.BaseDirectory);
        while (folder != null && !File.Exists(System.IO.Path.Combine(folder.FullName, "Hourhinge.slnx")))
        {
            folder = folder.Parent;
        }

        return folder?.FullName ?? throw new InvalidOperationException("Hourhinge.slnx is not above the tests.");
    }
}
