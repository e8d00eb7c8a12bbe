using System.CommandLine;

namespace Hourhinge.App.Common;

/// <summary>Options that are numbers with a unit and a range. A value out of range is a usage error, exit code
/// 2.</summary>
internal static class Quantity
{
    /// <summary>A number with a default.</summary>
    public static Option<double> Option(string name, double min, double max, double usual, string unit, string what)
    {
        var option = new Option<double>(name)
        {
            Description = Describe(what, min, max, unit),
            HelpName = unit,
            DefaultValueFactory = _ => usual
        };
        option.Validators.Add(result => Check(result, name, min, max, unit, r => r.GetValueOrDefault<double>()));
        return option;
    }

    /// <summary>A number that may be omitted.</summary>
    public static Option<double?> Optional(string name, double min, double max, string unit, string what)
    {
        var option = new Option<double?>(name) { Description = Describe(what, min, max, unit), HelpName = unit };
        option.Validators.Add(result =>
            Check(result, name, min, max, unit, r => r.GetValueOrDefault<double?>() ?? min));
        return option;
    }

    private static string Describe(string what, double min, double max, string unit) =>
        $"{what} ({unit}, {min} to {max}).";

    private static void Check(
        System.CommandLine.Parsing.OptionResult result,
        string name,
        double min,
        double max,
        string unit,
        Func<System.CommandLine.Parsing.OptionResult, double> read)
    {
        if (result.Errors.Any())
        {
            return;
        }

        double value = read(result);
        if (!(value >= min && value <= max))
        {
            result.AddError($"{name} {value}: must be {min} to {max} {unit}");
        }
    }
}
