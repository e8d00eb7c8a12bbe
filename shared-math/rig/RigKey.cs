// One row of the table of a rig's parameters (RigParameters.cs).

namespace Hourhinge.SharedMath.Rig;

/// <summary>What one parameter is: its name, unit, range and meaning. Immutable.</summary>
public sealed class RigKey
{
    /// <summary>Table and key in the rig file, such as "hinge.nut_arm_mm"; messages name the parameter so.</summary>
    public readonly string Key;

    /// <summary>Header that edits it on the controller, such as "RIG:ARM:NUT"; null when there is none.</summary>
    public readonly string Header;

    /// <summary>Unit; empty for a plain number.</summary>
    public readonly string Unit;

    /// <summary>Decimals of the unit that the integer holds: 6 in mm is a nanometre.</summary>
    public readonly int Scale;

    /// <summary>Smallest legal value, scaled.</summary>
    public readonly long Min;

    /// <summary>Largest legal value, scaled.</summary>
    public readonly long Max;

    /// <summary>Value of a new rig, scaled.</summary>
    public readonly long Default;

    /// <summary>What it means, in a short phrase.</summary>
    public readonly string Meaning;

    /// <summary>Words of the rig file for the values 0, 1, 2...; null for a number.</summary>
    public readonly string[] Words;

    /// <summary>The same words on the controller, with the short form in capitals; null for none.</summary>
    public readonly string[] ScpiWords;

    /// <summary>A number, or a flag when it has no unit and runs from 0 to 1.</summary>
    public RigKey(
        string key, string header, string unit, int scale, long min, long max, long initial, string meaning)
    {
        Key = key;
        Header = header;
        Unit = unit;
        Scale = scale;
        Min = min;
        Max = max;
        Default = initial;
        Meaning = meaning;
    }

    /// <summary>A choice among words.</summary>
    public RigKey(string key, string header, string[] words, string[] scpiWords, long initial, string meaning)
        : this(key, header, string.Empty, 0, 0, words.Length - 1, initial, meaning)
    {
        Words = words;
        ScpiWords = scpiWords;
    }

    /// <summary>The legal range with its unit, such as "20 to 2000 mm".</summary>
    public string Range()
    {
        string range = RigParameters.Format(Min, Scale) + " to " + RigParameters.Format(Max, Scale);
        return Unit.Length == 0 ? range : range + " " + Unit;
    }
}
