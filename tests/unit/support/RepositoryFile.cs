// Where the tests find files of the repository. Nothing about their contents.

using System.Runtime.CompilerServices;

namespace Hourhinge.Tests.Support;

/// <summary>Files in the repository, found from the place of this source file.</summary>
public static class RepositoryFile
{
    /// <summary>The repository's top folder.</summary>
    public static string Root { get; } = FindRoot();

    /// <summary>Full path of a file named from the top folder.</summary>
    public static string Path(string relative) => System.IO.Path.Combine(Root, relative);

    /// <summary>Data lines of a CSV made by a script in tests/reference: no comments, no heading.</summary>
    public static IEnumerable<double[]> Numbers(string relative) =>
        File.ReadLines(Path(relative))
            .Where(line => line.Length > 0 && line[0] != '#')
            .Skip(1)
            .Select(line => line.Split(',').Select(double.Parse).ToArray());

    private static string FindRoot([CallerFilePath] string here = "") =>
        System.IO.Path.GetFullPath(System.IO.Path.Combine(System.IO.Path.GetDirectoryName(here)!, "..", "..", ".."));
}
