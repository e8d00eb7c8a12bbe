// Which folder uses which: from the using lines, from qualified names, and from types of an enclosing namespace, which
// C# finds without a using line.

using Microsoft.CodeAnalysis.CSharp.Syntax;

namespace Hourhinge.Tests.Architecture;

/// <summary>One use of a folder by a file of another folder.</summary>
internal sealed record FolderUse(string From, string To, string File, int Line, string Text)
{
    public override string ToString() => $"{From} -> {To}: {File}:{Line}: {Text}";
}

/// <summary>All uses between folders of a set of files.</summary>
internal sealed class FolderGraph
{
    private readonly Dictionary<string, string> _folderOf = [];
    private readonly Dictionary<string, HashSet<string>> _typesOf = [];

    /// <summary>Maps namespaces to folders, then reads every file.</summary>
    public FolderGraph(IReadOnlyList<SourceFile> files)
    {
        foreach (SourceFile file in files.Where(f => f.Namespace.Length > 0))
        {
            if (_folderOf.TryAdd(file.Namespace, file.Folder))
            {
                _typesOf[file.Namespace] = [];
            }
            else if (_folderOf[file.Namespace] != file.Folder)
            {
                Misplaced.Add($"{file.Path}: namespace {file.Namespace} belongs to {_folderOf[file.Namespace]}");
            }

            _typesOf[file.Namespace].UnionWith(file.Syntax.DescendantNodes().OfType<BaseTypeDeclarationSyntax>()
                .Where(t => t.Parent is BaseNamespaceDeclarationSyntax).Select(t => t.Identifier.Text));
        }

        Uses = [.. files.SelectMany(UsesOf).Where(u => u.From != u.To).Distinct()];
    }

    /// <summary>Files whose namespace is that of another folder.</summary>
    public List<string> Misplaced { get; } = [];

    /// <summary>Every use of one folder by another.</summary>
    public IReadOnlyList<FolderUse> Uses { get; }

    /// <summary>Circles of folders that use one another; each such folder is in one of them at least.</summary>
    public IReadOnlyList<IReadOnlyList<FolderUse>> Circles()
    {
        ILookup<string, FolderUse> next = Uses.ToLookup(u => u.From);
        var circles = new List<IReadOnlyList<FolderUse>>();
        var seen = new HashSet<string>();
        foreach (string start in Uses.Select(u => u.From).Distinct().Where(f => !seen.Contains(f)))
        {
            List<FolderUse> circle = ShortestWayBack(start, next);
            if (circle.Count > 0)
            {
                circles.Add(circle);
                seen.UnionWith(circle.Select(u => u.From));
            }
        }

        return circles;
    }

    private static List<FolderUse> ShortestWayBack(string start, ILookup<string, FolderUse> next)
    {
        var cameBy = new Dictionary<string, FolderUse>();
        var queue = new Queue<string>([start]);
        while (queue.TryDequeue(out string? at))
        {
            foreach (FolderUse use in next[at].Where(u => cameBy.TryAdd(u.To, u)))
            {
                if (use.To != start)
                {
                    queue.Enqueue(use.To);
                    continue;
                }

                var way = new List<FolderUse> { use };
                while (way[0].From != start)
                {
                    way.Insert(0, cameBy[way[0].From]);
                }

                return way;
            }
        }

        return [];
    }

    private IEnumerable<FolderUse> UsesOf(SourceFile file)
    {
        foreach (UsingDirectiveSyntax line in file.Syntax.DescendantNodes().OfType<UsingDirectiveSyntax>())
        {
            if (Resolve(line.NamespaceOrType.ToString()) is { } folder)
            {
                yield return Use(file, folder, line);
            }
        }

        foreach (NameSyntax name in file.Syntax.DescendantNodes().OfType<NameSyntax>()
            .Where(n => n.Parent is not QualifiedNameSyntax
                && !n.AncestorsAndSelf().Any(a => a is UsingDirectiveSyntax
                    || (a.Parent is BaseNamespaceDeclarationSyntax space && space.Name == a))))
        {
            // Sky.Time.Instant in a file of Hourhinge.*; a single word is more likely a property.
            string text = name is QualifiedNameSyntax ? name.ToString()
                : name.Parent is MemberAccessExpressionSyntax { Parent: MemberAccessExpressionSyntax whole } member
                    && member.Expression == name ? whole.ToString() : "";
            if (text.Length > 0 && (Resolve(text, 2) ?? Resolve("Hourhinge." + text, 3)) is { } qualified)
            {
                yield return Use(file, qualified, name);
            }

            bool isMember = name.Parent is MemberAccessExpressionSyntax access && access.Name == name;
            if (name is IdentifierNameSyntax plain && !isMember
                && Enclosing(file.Namespace, plain.Identifier.Text) is { } outer)
            {
                yield return Use(file, outer, name);
            }
        }
    }

    // The folder of an enclosing namespace that declares the type; null when the file's own namespace does, or none.
    private string? Enclosing(string from, string type)
    {
        for (string at = from; at.Length > 0; at = at[..Math.Max(0, at.LastIndexOf('.'))])
        {
            if (_typesOf.TryGetValue(at, out HashSet<string>? types) && types.Contains(type))
            {
                return at == from ? null : _folderOf[at];
            }
        }

        return null;
    }

    // The folder of the longest known namespace that the name begins with, of at least so many words.
    private string? Resolve(string name, int words = 1)
    {
        for (string at = name; at.Split('.').Length >= words && at.Length > 0;
            at = at[..Math.Max(0, at.LastIndexOf('.'))])
        {
            if (_folderOf.TryGetValue(at, out string? folder))
            {
                return folder;
            }
        }

        return null;
    }

    private static FolderUse Use(SourceFile file, string to, Microsoft.CodeAnalysis.SyntaxNode node)
    {
        int line = node.GetLocation().GetLineSpan().StartLinePosition.Line;
        return new FolderUse(file.Folder, to, file.Path, line + 1, file.Lines[line].Trim());
    }
}
