// hourhinge completion: scripts that let a shell complete commands, options and targets.

using System.CommandLine;
using Hourhinge.App.Common;
using Hourhinge.Sky.Planning;

namespace Hourhinge.App.Completion;

internal static class CompletionCommand
{
    // Fainter stars with a name are found when typed; listing them would bury the others.
    private const double CompletedMagnitude = 4;

    /// <summary>The command; <paramref name="root"/> is what is completed.</summary>
    public static Command Create(RootCommand root)
    {
        var shell = new Argument<string>("SHELL")
        { Description = $"{string.Join(", ", CompletionScripts.Shells)}." };
        shell.AcceptOnlyFromAmong([.. CompletionScripts.Shells]);
        var command = new Command("completion", "Print the script that completes this program's words in a shell.")
        {
            shell,
        };
        command.SetAction(parsed =>
        {
            Console.Write(CompletionScripts.Of(parsed.GetRequiredValue(shell)));
            return ExitCode.Done;
        });
        command.Subcommands.Add(CreateWords(root));
        return command;
    }

    // What the scripts call. A command of its own, since a half-typed line is not an error here.
    private static Command CreateWords(RootCommand root)
    {
        var position = new Option<int>("--position") { Description = "The cursor, characters from the line's start." };
        var line = new Argument<string>("LINE") { Description = "The line so far, with the program's name." };
        var command = new Command("words", "Print what may follow at a cursor; the scripts use it.")
        {
            position, line,
        };
        command.Hidden = true;
        command.SetAction(parsed =>
        {
            string text = parsed.GetRequiredValue(line);
            int at = Math.Clamp(parsed.GetValue(position), 0, text.Length);
            foreach (string word in Words(root, text[..at]))
            {
                Console.WriteLine(word);
            }

            return ExitCode.Done;
        });
        return command;
    }

    /// <summary>What may complete the last word of a line; the line begins with the program's name.</summary>
    public static IReadOnlyList<string> Words(RootCommand root, string line)
    {
        // The program may have been called by a path, or as "dotnet hourhinge.dll".
        int start = line.IndexOf(' ', StringComparison.Ordinal);
        string rest = start < 0 ? "" : line[(start + 1)..];
        string word = rest[(rest.LastIndexOf(' ') + 1)..];
        string before = rest[..^word.Length].TrimEnd();
        IEnumerable<string> all = before.EndsWith("--target", StringComparison.Ordinal)
            ? Targets()
            : root.Parse(rest).GetCompletions(rest.Length).Select(c => c.Label)
                // Signs of help that nobody completes.
                .Where(label => label is not ("-?" or "/?" or "/h" or "-h"));
        return [.. all.Where(label => label.StartsWith(word, StringComparison.OrdinalIgnoreCase)).Distinct()];
    }

    // Names with a space would need quotes; their catalogue numbers stand in for them.
    private static IEnumerable<string> Targets() =>
        Catalogue.DeepSky.Where(o => o.Name.Length > 0 || o.Id[0] == 'M')
        .SelectMany(o => new[] { o.Id, o.OtherId, o.Name })
            .Concat(Catalogue.Stars.Where(s => s.Magnitude < CompletedMagnitude).Select(s => s.Name))
            .Where(name => name.Length > 0 && !name.Contains(' ', StringComparison.Ordinal))
            .Order(StringComparer.OrdinalIgnoreCase);
}
