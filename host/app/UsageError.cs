// What is wrong with a command line, in one sentence: an unknown word before anything that follows from it.

using System.CommandLine;
using System.CommandLine.Parsing;
using F23.StringSimilarity;

namespace Hourhinge.App;

internal static class UsageError
{
    // Letters to insert, delete, replace or swap.
    private static readonly OptimalStringAlignment _edits = new();

    /// <summary>The sentence; null when the command line is in order.</summary>
    public static string? Of(ParseResult parsed)
    {
        Command command = parsed.CommandResult.Command;
        bool isHelp = parsed.Action is { } action && action.GetType().Namespace == typeof(Command).Namespace + ".Help";
        string? unknown = isHelp ? null : UnknownWord(parsed);
        if (unknown == null && parsed.Errors.Count == 0)
        {
            return null;
        }

        string what = unknown != null
            ? IsBehindDashes(parsed, unknown)
                ? $"'{unknown}' stands behind --, where no option is recognised; write it before --"
                : $"'{unknown}' is not known here" + DidYouMean(unknown, command)
            : InOurWords(parsed.Errors[0]);
        var path = new List<string>();
        for (CommandResult? at = parsed.CommandResult; at?.Command is not (null or RootCommand);
            at = at.Parent as CommandResult)
        {
            path.Insert(0, at.Command.Name);
        }

        string end = what.EndsWith('?') ? "" : ".";
        return $"{what.TrimEnd('.')}{end} See: {string.Join(' ', ["hourhinge", .. path, "--help"])}";
    }

    // The parser takes an unknown option for an argument, or for the value of the option before it.
    private static string? UnknownWord(ParseResult parsed)
    {
        // A group such as `device` has no options: its first word is the slip, not what belongs to it.
        if (parsed.CommandResult.Command.Subcommands.Count > 0 && parsed.UnmatchedTokens.Count > 0)
        {
            return parsed.UnmatchedTokens[0];
        }

        bool isEscaped = false;
        OptionResult? before = null;
        foreach (Token token in parsed.Tokens)
        {
            if (token.Type == TokenType.DoubleDash)
            {
                isEscaped = true;
            }
            else if (token.Type == TokenType.Option)
            {
                before = parsed.CommandResult.Children.OfType<OptionResult>()
                    .FirstOrDefault(o => o.IdentifierToken?.Value == token.Value);
            }
            else if (token.Type == TokenType.Argument && !isEscaped && IsLikeOption(token.Value))
            {
                bool isValue = before?.Tokens.Contains(token) == true;
                if (!isValue || token.Value.StartsWith("--", StringComparison.Ordinal))
                {
                    return token.Value;
                }
            }
        }

        return parsed.UnmatchedTokens.Count > 0 ? parsed.UnmatchedTokens[0] : null;
    }

    private static bool IsBehindDashes(ParseResult parsed, string word) =>
        parsed.Tokens.SkipWhile(t => t.Type != TokenType.DoubleDash).Any(t => t.Value == word)
        && parsed.CommandResult.Command.Options.Any(o => o.Name == word || o.Aliases.Contains(word));

    private static bool IsDash(char c) => c is '\u2013' or '\u2014';

    private static bool IsLikeOption(string word) => word.Length > 1 && (word[0] == '-' || IsDash(word[0]))
        && !char.IsAsciiDigit(word[1]) && word[1] != '.';

    // The parser's messages name .NET types. Numbers have messages of their own, by Quantity.
    private static string InOurWords(ParseError error)
    {
        if (error.SymbolResult is CommandResult { Command.Subcommands.Count: > 0 } group)
        {
            return $"name one of {string.Join(", ", group.Command.Subcommands.Select(c => c.Name))}";
        }

        const string Choices = "Must be one of:";
        int choices = error.Message.IndexOf(Choices, StringComparison.Ordinal);
        int at = error.Message.IndexOf(" as expected type", StringComparison.Ordinal);
        if (at < 0 && choices < 0)
        {
            return error.Message;
        }

        string type = at < 0 ? "" : error.Message[at..];
        string wanted = choices >= 0
            ? string.Join(", ", error.Message[(choices + Choices.Length)..].Split('\n', '\t', '\r', '\'')
                .Where(word => word.Length > 0))
            : type.Contains("FileInfo", StringComparison.Ordinal) ? "a file's name"
            : type.Contains("DirectoryInfo", StringComparison.Ordinal) ? "a folder's name"
            : type.Contains("Boolean", StringComparison.Ordinal) ? "left out, or true or false"
            : "a number";
        string name = error.SymbolResult switch
        {
            OptionResult option => option.Option.Name,
            ArgumentResult { Parent: OptionResult option } => option.Option.Name,
            ArgumentResult argument => argument.Argument.Name,
            _ => "",
        };
        string given = string.Join(' ', error.SymbolResult?.Tokens.Select(t => t.Value) ?? []);
        return $"{name} '{given}': must be {wanted}".TrimStart();
    }

    private static string DidYouMean(string word, Command command)
    {
        // A word processor makes one dash of two hyphens.
        string typed = word.Length > 0 && IsDash(word[0]) ? "--" + word.TrimStart('-', '\u2013', '\u2014') : word;
        IEnumerable<string> known = typed.StartsWith('-')
            ? command.Options.SelectMany(o => o.Aliases.Append(o.Name)).Append("--help")
            : command.Subcommands.Select(c => c.Name);
        string? best = known.Distinct().MinBy(name => _edits.Distance(typed, name));
        return best != null && _edits.Distance(typed, best) <= Math.Max(1, typed.TrimStart('-').Length / 3)
            ? $"; did you mean {best}?"
            : "";
    }
}
