// One row of the table of a rig file's keys (RigKeys.cs).

using System.Globalization;

namespace Hourhinge.Rig;

/// <summary>What a key's value is in TOML.</summary>
public enum KeyKind
{
    /// <summary>A number.</summary>
    Number,

    /// <summary>An integer.</summary>
    IntegerNumber,

    /// <summary>true or false.</summary>
    Flag,

    /// <summary>One of a few words in quotes.</summary>
    Word,

    /// <summary>Text in quotes.</summary>
    Text,

    /// <summary>A list of numbers.</summary>
    Numbers,

    /// <summary>A list of pairs of numbers.</summary>
    Pairs,
}

/// <summary>A key of a rig file.</summary>
/// <param name="Table">Its table; "" is the top, "[]" marks an array of tables.</param>
/// <param name="Key">Its name, which ends with the unit.</param>
/// <param name="Kind">What the value is.</param>
/// <param name="Unit">The unit; empty for none.</param>
/// <param name="Min">Smallest legal number.</param>
/// <param name="Max">Largest legal number.</param>
/// <param name="Default">The value when the key is absent, as TOML text; empty when the key must be there; words that
/// describe it when it depends on other keys.</param>
/// <param name="Meaning">What it means, in a short phrase.</param>
public sealed record RigFileKey(
    string Table, string Key, KeyKind Kind, string Unit, double Min, double Max, string Default, string Meaning)
{
    /// <summary>The default of a key without which there is simply no such value.</summary>
    public const string None = "none";

    /// <summary>Header that edits it on the controller; null when there is none.</summary>
    public string? Header { get; init; }

    /// <summary>The legal words of a <see cref="KeyKind.Word"/>.</summary>
    public IReadOnlyList<string> Words { get; init; } = [];

    /// <summary>The hinge forms, motor kinds or rates to which the key belongs; empty for all.</summary>
    public string Only { get; init; } = "";

    /// <summary>True when calibration writes it: not in the template of a new rig file.</summary>
    public bool IsCalibrated { get; init; }

    /// <summary>A value for the template of a new rig file, as TOML text; null: the default.</summary>
    public string? Sample { get; init; }

    /// <summary>As <see cref="Sample"/>, where a DC motor needs another one.</summary>
    public string? DcSample { get; init; }

    /// <summary>The number of <see cref="Default"/>; NaN when it is no number.</summary>
    public double DefaultNumber =>
        double.TryParse(Default, NumberStyles.Float, CultureInfo.InvariantCulture, out double number)
            ? number : double.NaN;

    /// <summary>True when the default depends on other keys.</summary>
    public bool IsDefaultComputed => (Kind is KeyKind.Number or KeyKind.IntegerNumber) && double.IsNaN(DefaultNumber)
        && Default.Length > 0 && Default != None;

    /// <summary>What the value may be, such as "20 to 2000 mm"; a smaller maximum may come from another key.</summary>
    public string Allowed(double? max = null) => Kind switch
    {
        KeyKind.Flag => "true or false",
        KeyKind.Word => "one of " + string.Join(", ", Words.Select(w => $"\"{w}\"")),
        KeyKind.Text => "text in quotes",
        _ => $"{Min:0.######} to {max ?? Max:0.######} {Unit}".TrimEnd(),
    };
}
