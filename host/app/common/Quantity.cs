using System.CommandLine;
using System.CommandLine.Parsing;
using Hourhinge.Rig;

namespace Hourhinge.App.Common;

/// <summary>Options that are numbers with a unit and a range. What is typed goes through
/// <see cref="QuantityParser"/>; a value that is no number or out of range is a usage error, exit code 2.</summary>
internal static class Quantity
{
    /// <summary>A number with a default.</summary>
    public static Option<double> Option(string name, double min, double max, double usual, string unit, string what) =>
        new(name)
        {
            Description = Describe(what, min, max, unit),
            HelpName = unit,
            DefaultValueFactory = _ => usual,
            CustomParser = result => Read(result, name, min, max, false, unit) ?? usual,
        };

    /// <summary>A number that may be omitted.</summary>
    public static Option<double?> Optional(string name, double min, double max, string unit, string what) =>
        new(name)
        {
            Description = Describe(what, min, max, unit),
            HelpName = unit,
            CustomParser = result => Read(result, name, min, max, false, unit),
        };

    /// <summary>A number above 0 with a default.</summary>
    public static Option<double> Positive(string name, double usual, double max, string unit, string what) =>
        new(name)
        {
            Description = $"{what} ({unit}, above 0, up to {max}).",
            HelpName = unit,
            DefaultValueFactory = _ => usual,
            CustomParser = result => Read(result, name, 0, max, true, unit) ?? usual,
        };

    /// <summary>A whole number with a default.</summary>
    public static Option<int> Integer(string name, int min, int max, int usual, string unit, string what) =>
        new(name)
        {
            Description = Describe(what, min, max, unit),
            HelpName = unit,
            DefaultValueFactory = _ => usual,
            CustomParser = result =>
            {
                double value = Read(result, name, min, max, false, unit) ?? usual;
                if (value != Math.Floor(value))
                {
                    result.AddError(
                        $"{name} {result.Tokens[0].Value}: must be a whole number, {min} to {max} {unit}".TrimEnd());
                    return usual;
                }

                return (int)value;
            },
        };

    private static string Describe(string what, double min, double max, string unit) =>
        unit.Length == 0 ? $"{what} ({min} to {max})." : $"{what} ({unit}, {min} to {max}).";

    private static double? Read(
        ArgumentResult result, string name, double min, double max, bool excludesMin, string unit)
    {
        if (result.Tokens.Count != 1)
        {
            result.AddError($"{name}: give one value");
            return null;
        }

        string typed = result.Tokens[0].Value;
        string range = (excludesMin ? $"above {min}, up to {max} {unit}" : $"{min} to {max} {unit}").TrimEnd();
        if (!QuantityParser.TryParse(typed, unit, out double value, out string problem))
        {
            result.AddError($"{name} {typed}: {problem}; {range}");
            return null;
        }

        if (!(value >= min && value <= max) || (excludesMin && value == min))
        {
            result.AddError($"{name} {typed}: must be {range}");
            return null;
        }

        return value;
    }
}
