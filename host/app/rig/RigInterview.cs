// Asks for a rig on a terminal: form, drive, measures one by one; then the check. Nothing is written before the end.

using Hourhinge.App.Common;
using Hourhinge.App.Common.Asking;
using Hourhinge.Rig;

namespace Hourhinge.App.Rig;

/// <summary>The questions of `rig new`, asked on a terminal.</summary>
internal sealed class RigInterview(TextReader input, TextWriter output)
{
    private readonly Prompter _prompter = new(input, output);
    private readonly Dictionary<RigFileKey, string?> _values = [];
    private bool _isInch;

    /// <summary>
    /// Asks everything; the text of a rig file that passes `rig check`. <see cref="InputException"/> when the input
    /// ends before that.
    /// </summary>
    public string Ask(string file)
    {
        _prompter.Tell("Questions about your rig, one at a time. An empty line takes the value in brackets. "
            + "Ctrl-C ends without writing anything.");
        string form = Choose("Hinge form", RigTemplate.Forms, null);
        string drive = Choose("Drive", RigTemplate.Drives, null);
        _isInch = Choose("Unit of a length without one (\"9 1/16 in\" and \"230.2 mm\" are always understood)",
            ["mm", "in"], "mm") == "in";
        foreach (RigQuestion question in RigQuestion.All.Where(q => RigTemplate.BelongsTo(q.Row, form, drive)
            && !RigTemplate.OptionalTables.Contains(q.Table)))
        {
            Ask(question, drive);
        }

        AskTable("camera", "Describe the camera too? It gives errors in pixels", drive);
        AskTable("site", "Describe the site too? It gives the night's times", drive);
        AskTable("pack", "Describe the pack too? It gives its hours", drive);
        return Check(file, form, drive);
    }

    private void AskTable(string table, string ask, string drive)
    {
        if (_prompter.AskYes(ask, "yes"))
        {
            foreach (RigQuestion question in RigQuestion.All.Where(q => q.Table == table))
            {
                Ask(question, drive);
            }
        }
    }

    private void Ask(RigQuestion question, string drive)
    {
        RigFileKey key = question.Row;
        if (key.Kind == KeyKind.Word)
        {
            _values[key] = $"\"{Choose(question.Ask, key.Words, question.Usual)}\"";
            return;
        }

        string unit = key.Unit == "mm" ? (_isInch ? " (in)" : " (mm)") : "";
        _prompter.Explain($"{question.Ask}{unit}", question.How);
        string usual = string.IsNullOrEmpty(question.Usual) ? "" : $" [{question.Usual}]";
        string prompt = $" {usual}: ";
        _values.Remove(key);
        string value = _prompter.AskUntilRight(prompt, question.Usual, typed => Answer(key, typed, drive));
        // An empty answer of an optional text leaves the key as a comment.
        _values[key] = value == "\"\"" ? null : value;
    }

    private string Answer(RigFileKey key, string typed, string drive)
    {
        if (key.Key == "thread" && TypedAnswer.HasUnit(typed)
            && QuantityParser.TryParse(typed, "mm", out _, out _))
        {
            RigFileKey pitch = RigKeys.Get("rod", "pitch_mm");
            _values[pitch] = TypedAnswer.Length(pitch, typed, _isInch);
            return "\"\"";
        }

        return typed == "sample" ? RigTemplate.SampleOf(key, drive)! : TypedAnswer.ToToml(key, typed, _isInch);
    }

    private string Choose(string ask, IReadOnlyList<string> words, string? usual) =>
        _prompter.Choose(ask, words, usual, RigQuestion.Choices);

    // Asks again for the key that an error names, until the rig compiles.
    private string Check(string file, string form, string drive)
    {
        while (true)
        {
            string text = RigTemplate.Text(form, drive, _values);
            try
            {
                double minutes = RigDrive.Compile(RigReader.Read(file, text), 0).Design.TravelSec / 60;
                output.WriteLine($"\nThe rig is sound: {minutes:0.0} minutes of travel.");
                return text;
            }
            catch (RigFileException e)
            {
                RigQuestion question = RigQuestion.All.FirstOrDefault(q => _values.ContainsKey(q.Row)
                    && e.Message.Contains($"{q.Table}.{q.Key}", StringComparison.Ordinal))
                    ?? throw new InputException($"these answers do not make a rig: {e.Message} Nothing was written.");
                _prompter.Tell($"\nThese answers do not fit together: {e.Message}");
                Ask(question, drive);
            }
        }
    }
}
