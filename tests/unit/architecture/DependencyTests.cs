namespace Hourhinge.Tests.Architecture;

/// <summary>Dependencies between folders run one way: host and board to firmware logic to shared-math.</summary>
public class DependencyTests
{
    private static readonly FolderGraph _graph = new(SourceTree.Own);

    // Each library and the libraries that it may use. A folder belongs to the longest name that it begins with.
    private static readonly Dictionary<string, string[]> _mayUse = new()
    {
        ["shared-math"] = [],
        ["firmware/logic"] = ["shared-math"],
        ["firmware/board"] = ["firmware/logic", "shared-math"],
        ["host/numerics"] = ["shared-math"],
        ["host/report"] = [],
        ["host/rig"] = ["shared-math"],
        ["host/sky"] = ["host/numerics", "shared-math"],
        ["host/starfield"] = ["host/numerics"],
        ["host/frames"] = ["host/numerics", "shared-math"],
        ["host/recognition"] = ["host/numerics", "host/sky"],
        ["host/planning"] = ["host/numerics", "host/rig", "host/sky", "shared-math"],
        ["host/rehearsal"] = ["firmware/logic", "host/rig", "shared-math"],
        ["host/calibration"] =
        ["host/frames", "host/numerics", "host/recognition", "host/rig", "host/sky", "shared-math"],
        ["host/app"] = ["firmware/logic", "host/calibration", "host/frames", "host/numerics", "host/planning",
            "host/recognition", "host/rehearsal", "host/report", "host/rig", "host/sky", "host/starfield",
            "shared-math"],
    };

    [Fact]
    public void Namespaces_follow_folders() => Assert.Empty(_graph.Misplaced);

    [Fact]
    public void Libraries_use_only_what_the_table_allows()
    {
        Assert.True(_graph.Uses.Count > 100, "the using lines were not found");
        Assert.All(SourceTree.Own, f => Assert.NotNull(Library(f.Folder)));
        Nothing(_graph.Uses.Where(u => Library(u.From) != Library(u.To)
            && !_mayUse[Library(u.From)!].Contains(Library(u.To))));
    }

    [Fact]
    public void Folders_form_no_circle() =>
        Nothing(_graph.Circles().Select(c => string.Join("\n    ", c)));

    /// <summary>A command's folder uses common and link; these use no command.</summary>
    [Fact]
    public void Commands_of_the_app_do_not_use_one_another() =>
        Nothing(_graph.Uses.Where(u => Verb(u.From) is { } from && Verb(u.To) is { } to && from != to
            && !(to is "common" or "link" && !(from == "common" && to == "link"))));

    [Fact]
    public void The_graph_notices_a_use_of_each_kind()
    {
        SourceFile[] files =
        [
            new("a/One.cs", "namespace Hourhinge.A;\nclass One { Hourhinge.B.C.Three x; }"),
            new("a/inner/Four.cs", "namespace Hourhinge.A.Inner;\nclass Four { One x; }"),
            new("b/Two.cs", "using static Hourhinge.A.One;\nnamespace Hourhinge.B;\nclass Two { }"),
            new("b/c/Three.cs", "using Hourhinge.B;\nnamespace Hourhinge.B.C;\nclass Three { }"),
            new("b/c/Five.cs", "namespace Hourhinge.B.Misplaced.Not;\nclass Five { int x = A.Inner.Four.Y; }"),
            new("d/Six.cs", "namespace Hourhinge.B;\nclass Six { }"),
        ];
        var graph = new FolderGraph(files);
        Assert.Equal(["a -> b/c", "a/inner -> a", "b -> a", "b/c -> a/inner", "b/c -> b"],
            graph.Uses.Select(u => $"{u.From} -> {u.To}").Distinct().Order(StringComparer.Ordinal));
        Assert.Equal(["a b/c b", "a/inner a b/c"],
            graph.Circles().Select(c => string.Join(' ', c.Select(u => u.From))));
        Assert.Equal("d/Six.cs: namespace Hourhinge.B belongs to b", Assert.Single(graph.Misplaced));
    }

    private static string? Library(string folder) =>
        _mayUse.Keys.Where(k => (folder + "/").StartsWith(k + "/", StringComparison.Ordinal)).MaxBy(k => k.Length);

    // rehearse for host/app/rehearse/serve; null outside the app and for Program.cs.
    private static string? Verb(string folder) =>
        folder.StartsWith("host/app/", StringComparison.Ordinal) ? folder.Split('/')[2] : null;

    private static void Nothing(IEnumerable<object> wrong) => Assert.True(!wrong.Any(), string.Join("\n", wrong));
}
