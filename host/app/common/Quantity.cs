using System.CommandLine;

namespace Hourhinge.App.Common;

/// <summary>Options that are numbers with a unit and a range; out of range is one sentence and exit code 2.</summary>
internal static class Quantity
{
    /// <summary>A number with a usual value.</summary>
    public static Option<double> Option(string name, double least, double most, double usual, string unit, string what)
    {
        var option = new Option<double>(name)
        {
            Description = Describe(what, least, most, unit),
            HelpName = unit,
            DefaultValueFactory = _ => usual
        };
        option.Validators.Add(result => Check(result, name, least, most, unit, r => r.GetValueOrDefault<double>()));
        return option;
    }

    /// <summary>A number that may be left out.</summary>
    public static Option<double?> Optional(string name, double least, double most, string unit, string what)
    {
        var option = new Option<double?>(name) { Description = Describe(what, least, most, unit), HelpName = unit };
        option.Validators.Add(result =>
            Check(result, name, least, most, unit, r => r.GetValueOrDefault<double?>() ?? least));
        return option;
    }

    private static string Describe(string what, double least, double most, string unit) =>
        $"{what} ({unit}, {least} to {most}).";

    private static void Check(
        System.CommandLine.Parsing.OptionResult result,
        string name,
        double least,
        double most,
        string unit,
        Func<System.CommandLine.Parsing.OptionResult, double> read)
    {
        if (result.Errors.Any())
        {
            return;
        }

        double value = read(result);
        if (!(value >= least && value <= most))
        {
            result.AddError($"{name} {value}: must be {least} to {most} {unit}");
        }
    }
}
