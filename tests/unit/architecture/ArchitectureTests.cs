using Hourhinge.Tests.Support;
using Microsoft.CodeAnalysis;
using Microsoft.CodeAnalysis.CSharp;
using Microsoft.CodeAnalysis.CSharp.Syntax;

namespace Hourhinge.Tests.Architecture;

/// <summary>Sizes and names: what keeps the tree readable. Directions between folders: DependencyTests.</summary>
public class ArchitectureTests
{
    private const int MaxFilesInFolder = 16;
    private const int MaxLines = 399;
    private const int MaxColumns = 120;

    [Fact]
    public void No_type_name_stands_twice_in_the_host()
    {
        var types = SourceTree.Own.Where(f => f.Path.StartsWith("host/", StringComparison.Ordinal))
            .SelectMany(f => f.Syntax.DescendantNodes()
                .Where(n => n is BaseTypeDeclarationSyntax or DelegateDeclarationSyntax)
                .Cast<MemberDeclarationSyntax>().Where(IsVisible)
                .Select(t => (Name: Name(t), In: $"{f.Namespace} {Outer(t)}", f.Path)))
            .ToList();
        Assert.True(types.Count > 200, "the declarations were not found");
        // Parts of one partial type share namespace and outer type.
        Nothing(types.GroupBy(t => t.Name).Where(g => g.Select(t => t.In).Distinct().Count() > 1)
            .Select(g => $"{g.Key}: {string.Join(", ", g.Select(t => t.Path))}"));
    }

    [Fact]
    public void No_alias_of_our_own_types() =>
        Nothing(SourceTree.All.SelectMany(f => f.Syntax.DescendantNodes().OfType<UsingDirectiveSyntax>()
            .Where(u => u.Alias != null && IsOurs(u.NamespaceOrType.ToString()))
            .Select(u => $"{f.Path}: {u}")));

    [Fact]
    public void No_folder_of_more_than_16_source_files() =>
        Nothing(SourceTree.All.GroupBy(f => f.Folder).Where(g => g.Count() > MaxFilesInFolder)
            .Select(g => $"{g.Key}: {g.Count()} files"));

    [Fact]
    public void No_source_file_of_400_lines() =>
        Nothing(SourceTree.All.Where(f => f.Lines.Length > MaxLines).Select(f => $"{f.Path}: {f.Lines.Length} lines"));

    [Fact]
    public void No_line_over_120_columns() =>
        Nothing(SourceTree.All.SelectMany(f => f.Lines.Select((text, i) => (text, i))
            .Where(l => l.text.EnumerateRunes().Count() > MaxColumns)
            .Select(l => $"{f.Path}:{l.i + 1}: {l.text.EnumerateRunes().Count()} columns")));

    /// <summary>A folder of tests has the path of the folder that it tests.</summary>
    [Fact]
    public void Tests_mirror_the_source_tree() =>
        Nothing(SourceTree.All.Where(f => f.Path.StartsWith("tests/unit/", StringComparison.Ordinal))
            .Select(f => f.Folder["tests/unit/".Length..]).Distinct()
            .Where(folder => folder is not ("architecture" or "support" or "host/app/campaigns")
                && !Directory.Exists(RepositoryFile.Path(folder))));

    private static bool IsOurs(string name) =>
        name.StartsWith("Hourhinge.", StringComparison.Ordinal)
        || SourceTree.Own.Any(f => f.Namespace.Length > 0 && $"Hourhinge.{name}.".StartsWith(f.Namespace + ".",
            StringComparison.Ordinal));

    private static bool IsVisible(MemberDeclarationSyntax type) =>
        !type.Modifiers.Any(m => m.IsKind(SyntaxKind.FileKeyword))
        && (type.Parent is BaseNamespaceDeclarationSyntax
            || type.Modifiers.Any(m => m.IsKind(SyntaxKind.PublicKeyword) || m.IsKind(SyntaxKind.InternalKeyword)));

    private static string Name(MemberDeclarationSyntax type) => type is DelegateDeclarationSyntax d
        ? d.Identifier.Text : ((BaseTypeDeclarationSyntax)type).Identifier.Text;

    private static string Outer(SyntaxNode type) =>
        string.Join('.', type.Ancestors().OfType<BaseTypeDeclarationSyntax>().Select(t => t.Identifier.Text));

    private static void Nothing(IEnumerable<string> wrong) => Assert.True(!wrong.Any(), string.Join("\n", wrong));
}
