// The repository's C# files as text and syntax. What is required of them: ArchitectureTests.cs, DependencyTests.cs.

using Hourhinge.Tests.Support;
using Microsoft.CodeAnalysis.CSharp;
using Microsoft.CodeAnalysis.CSharp.Syntax;

namespace Hourhinge.Tests.Architecture;

/// <summary>A C# file: path from the repository's top folder with '/', lines, syntax.</summary>
internal sealed class SourceFile(string path, string text)
{
    /// <summary>From the repository's top folder, such as host/app/Program.cs.</summary>
    public string Path { get; } = path;

    /// <summary>The file's folder, such as host/app.</summary>
    public string Folder { get; } = path[..path.LastIndexOf('/')];

    /// <summary>Lines without their ends.</summary>
    public string[] Lines { get; } = text.ReplaceLineEndings("\n").TrimEnd('\n').Split('\n');

    /// <summary>The parsed file.</summary>
    public CompilationUnitSyntax Syntax { get; } = CSharpSyntaxTree.ParseText(text).GetCompilationUnitRoot();

    /// <summary>The file's namespace; empty for none.</summary>
    public string Namespace =>
        Syntax.Members.OfType<BaseNamespaceDeclarationSyntax>().FirstOrDefault()?.Name.ToString() ?? "";
}

/// <summary>All C# files that people wrote.</summary>
internal static class SourceTree
{
    private static readonly string[] _tops = ["shared-math", "firmware", "host", "tests"];

    /// <summary>Every file, tests included.</summary>
    public static IReadOnlyList<SourceFile> All { get; } =
        [.. _tops.SelectMany(top => Directory.EnumerateFiles(RepositoryFile.Path(top), "*.cs",
                SearchOption.AllDirectories))
            .Select(file => Path.GetRelativePath(RepositoryFile.Root, file).Replace('\\', '/'))
            .Where(file => !file.Contains("/obj/", StringComparison.Ordinal)
                && !file.Contains("/bin/", StringComparison.Ordinal))
            .Order(StringComparer.Ordinal)
            .Select(file => new SourceFile(file, File.ReadAllText(RepositoryFile.Path(file))))];

    /// <summary>
    /// The program's own files: no tests, and no api-stubs, whose namespaces are those of the packages that they stand
    /// for.
    /// </summary>
    public static IReadOnlyList<SourceFile> Own { get; } =
        [.. All.Where(f => !f.Path.StartsWith("tests/", StringComparison.Ordinal)
            && !f.Path.StartsWith("firmware/api-stubs/", StringComparison.Ordinal))];
}
