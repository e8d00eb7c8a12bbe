// Questions on a terminal: one at a time, asked again until the answer is right.

namespace Hourhinge.App.Common.Asking;

/// <summary>Asks on a terminal. <see cref="InputException"/> when the input ends before the last question.</summary>
internal sealed class Prompter(TextReader input, TextWriter output)
{
    private const int Columns = 78;

    /// <summary>Writes a paragraph.</summary>
    public void Tell(string text, string indent = "") => output.WriteLine(Wrap(text, indent));

    /// <summary>Writes a blank line and a question with how to find the answer.</summary>
    public void Explain(string question, string how)
    {
        output.WriteLine($"\n{question}");
        output.WriteLine(Wrap(how, "  "));
    }

    /// <summary>Asks until the answer can be converted.</summary>
    /// <param name="prompt">What stands before the cursor.</param>
    /// <param name="usual">The answer of an empty line; null when there is none.</param>
    /// <param name="convert">Converts; a wrong answer is an <see cref="InputException"/>, whose text is shown.</param>
    /// <returns>The converted answer; two quotes for an empty one.</returns>
    public string AskUntilRight(string prompt, string? usual, Func<string, string> convert)
    {
        while (true)
        {
            output.Write(prompt);
            string typed = input.ReadLine()?.Trim()
                ?? throw new InputException("the input ended before the last question; nothing was written.");
            if (typed.Length == 0 && usual == null)
            {
                output.WriteLine("  This one has no usual value.");
                continue;
            }

            try
            {
                string answer = typed.Length == 0 ? usual! : typed;
                return answer.Length == 0 ? "\"\"" : convert(answer);
            }
            catch (InputException e)
            {
                output.WriteLine(Wrap($"{char.ToUpperInvariant(e.Message[0])}{e.Message[1..]}", "  "));
            }
        }
    }

    /// <summary>Asks for one of some words, by word or number.</summary>
    /// <param name="ask">The question.</param>
    /// <param name="words">The words.</param>
    /// <param name="usual">The word of an empty line; null when there is none.</param>
    /// <param name="choices">What the words mean, where known.</param>
    public string Choose(
        string ask, IReadOnlyList<string> words, string? usual, IReadOnlyDictionary<string, string> choices)
    {
        output.WriteLine("\n" + Wrap(ask, ""));
        int width = words.Max(w => w.Length);
        for (int i = 0; i < words.Count; i++)
        {
            string what = choices.TryGetValue(words[i], out string? text)
                ? $"{words[i].PadRight(width)} {text}"
                : words[i];
            output.WriteLine($"  {i + 1}  {what}");
        }

        string prompt = $"  1 to {words.Count}{(usual == null ? "" : $" [{usual}]")}: ";
        return AskUntilRight(prompt, usual, typed => words.Where((w, i) => w == typed || $"{i + 1}" == typed)
            .FirstOrDefault()
            ?? throw new InputException($"answer with a number, 1 to {words.Count}, or with the word."));
    }

    /// <summary>Asks a question whose answer is yes or no.</summary>
    public bool AskYes(string ask, string usual) =>
        AskUntilRight($"\n{ask} [{usual}]: ", usual, typed => typed.ToLowerInvariant() switch
        {
            "y" or "yes" => "true",
            "n" or "no" => "false",
            _ => throw new InputException("answer yes or no."),
        }) == "true";

    private static string Wrap(string text, string indent)
    {
        var lines = new List<string> { indent };
        foreach (string word in text.Split(' '))
        {
            if (lines[^1].Length + 1 + word.Length > Columns && lines[^1].Length > indent.Length)
            {
                lines.Add(indent);
            }

            lines[^1] += lines[^1].Length > indent.Length ? $" {word}" : word;
        }

        return string.Join('\n', lines);
    }
}
