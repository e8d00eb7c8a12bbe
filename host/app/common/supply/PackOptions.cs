// How long the pack lasts: from the rig file's table [pack], or from two options that replace its values.

using System.CommandLine;
using Hourhinge.Rig;

namespace Hourhinge.App.Common.Supply;

/// <summary>The options for the pack's hours, and the sentences about them.</summary>
internal sealed class PackOptions
{
    private readonly Option<double?> _mah = Quantity.Optional("--pack-mah", 50, 1000000, "mAh",
        "Capacity on the pack's label; default is the rig's pack.mah");

    private readonly Option<double?> _current = Quantity.Optional("--current-ma", 0.1, 100000, "mA",
        "What motor and controller draw together while tracking, measured with a meter; default is the rig's "
        + "pack.current_ma");

    /// <summary>The options.</summary>
    public Option[] All => [_mah, _current];

    /// <summary>Adds the options to a command.</summary>
    public void AddTo(Command command)
    {
        foreach (Option option in All)
        {
            command.Options.Add(option);
        }
    }

    /// <summary>The pack; null where neither rig file nor options describe it. Options alone count the label's mAh at
    /// the voltage of the current.</summary>
    public MeasuredPack? Read(ParseResult parsed, RigDescription? rig)
    {
        double? mah = parsed.GetValue(_mah);
        double? current = parsed.GetValue(_current);
        if (rig?.Pack is { } pack)
        {
            return pack with { Mah = mah ?? pack.Mah, CurrentMa = current ?? pack.CurrentMa };
        }

        return (mah, current) switch
        {
            (null, null) => null,
            ({ } m, { } c) => new MeasuredPack(1, m, 1, c),
            _ => throw new InputException("--pack-mah and --current-ma: the pack's hours need both, or a rig file with "
                + "a table [pack]."),
        };
    }

    /// <summary>The pack's hours in words.</summary>
    public static string Sentence(MeasuredPack? pack) => pack == null
        ? "The pack's hours are not known: describe it in the rig file's table [pack], or give --pack-mah and "
            + "--current-ma."
        : $"The pack lasts {ConsoleOutput.Number(pack.Hours, 1)} h at {pack.CurrentMa:0.#} mA, counting on "
            + $"{PackData.UsableShare * 100:0} % of its label.";
}
