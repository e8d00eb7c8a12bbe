// Asks for a box of parts on a terminal, one question at a time, and makes the text of its file.

using System.Text;
using Hourhinge.App.Common;
using Hourhinge.App.Common.Asking;
using Hourhinge.Planning.Parts;
using Hourhinge.Rig;

namespace Hourhinge.App.Design;

/// <summary>The questions of `design`, asked on a terminal.</summary>
internal sealed class DesignInterview(TextReader input, TextWriter output)
{
    private static readonly Dictionary<string, string> _kinds = new()
    {
        ["stepper"] = "a stepper motor",
        ["dc-encoder"] = "a DC gear motor with an encoder",
        ["dc"] = "a DC gear motor without an encoder",
    };

    // Usual answers beside the defaults of the keys; the rest has none.
    private static readonly Dictionary<string, string> _usual = new()
    {
        ["microsteps"] = "1 2 4 8 16",
        ["full_steps"] = "200",
        ["gearbox"] = "none",
        ["teeth"] = "none",
        ["label_volts"] = "the same",
        ["bend_radius_mm"] = "none",
    };

    private readonly Prompter _prompter = new(input, output);
    private readonly StringBuilder _text = new();
    private bool _isInch;

    /// <summary>Asks everything; the text of a file that the reader accepts. <see cref="InputException"/> when the
    /// input ends before that, or when the answers do not fit together.</summary>
    public string Ask(string file)
    {
        _prompter.Tell("Questions about your box of parts. An empty line takes the value in brackets. Ctrl-C ends "
            + "without writing anything.");
        _isInch = _prompter.Choose("Unit of a length without one", ["mm", "in"], "mm", _kinds) == "in";
        _text.Append("# Parts for: hourhinge design. Units are in the names.\n");
        foreach (IGrouping<string, RigFileKey> table in PartsKeys.All.GroupBy(k => k.Table))
        {
            if (!table.Key.EndsWith("[]", StringComparison.Ordinal))
            {
                AskTable(table, table.Key.Length == 0 ? "" : $"\n[{table.Key}]\n");
                continue;
            }

            string one = table.Key[..^2];
            do
            {
                AskTable(table, $"\n[[{one}]]\n");
            }
            while (_prompter.AskYes($"Another {one}", "no"));
        }

        string text = _text.ToString();
        try
        {
            PartsReader.Read(file, text);
        }
        catch (RigFileException e)
        {
            throw new InputException($"these answers do not fit together: {e.Message} Nothing was written.");
        }

        return text;
    }

    private void AskTable(IEnumerable<RigFileKey> keys, string heading)
    {
        _text.Append(heading);
        string kind = "";
        bool hasThread = false;
        foreach (RigFileKey key in keys)
        {
            if ((key.Only.Length > 0 && !key.Only.Split(", ").Contains(kind))
                || (key.Key is "pitch_mm" or "diameter_mm" && hasThread))
            {
                continue;
            }

            string value = AskKey(key);
            kind = key.Key == "kind" ? value.Trim('"') : kind;
            hasThread |= key.Key == "thread" && value != "\"\"";
            if (value != "\"\"")
            {
                _text.Append($"{key.Key} = {value}\n");
            }
        }
    }

    // The TOML text; two quotes for a key that is left out.
    private string AskKey(RigFileKey key)
    {
        string ask = $"{char.ToUpperInvariant(key.Meaning[0])}{key.Meaning[1..]}";
        if (key.Kind == KeyKind.Word)
        {
            return $"\"{_prompter.Choose(ask, key.Words, null, _kinds)}\"";
        }

        if (key.Kind == KeyKind.Flag)
        {
            return _prompter.AskYes(ask, "no") ? "true" : "false";
        }

        string unit = key.Unit == "mm" && _isInch ? "in" : key.Unit;
        _prompter.Explain(ask, key.Kind != KeyKind.Text ? $"In {unit}; {key.Allowed()}."
            : key.Table.Length == 0 ? "It shows on pages and on the controller." : "An empty line leaves it out.");
        string? usual = _usual.GetValueOrDefault(key.Key)
            ?? (key.Kind == KeyKind.Text && key.Table.Length > 0 ? ""
                : key.Default.Length > 0 && key.Default != RigFileKey.None ? key.Default : null);
        return _prompter.AskUntilRight(string.IsNullOrEmpty(usual) ? "  : " : $"  [{usual}]: ", usual, typed =>
            typed is "the same" or "none" ? "\"\"" : TypedAnswer.ToToml(key, typed, _isInch));
    }
}
