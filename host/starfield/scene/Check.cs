// The one way this project refuses a value: a sentence with the field, the value and the allowed range.

using System.Runtime.CompilerServices;

namespace Hourhinge.Starfield.Scenes;

internal static class Check
{
    public static double Range(
        double value, double low, double high, string what, [CallerArgumentExpression(nameof(value))] string name = "")
    {
        if (value >= low && value <= high)
        {
            return value;
        }

        throw new ArgumentOutOfRangeException(name, value, $"{what} is {value}; it must lie between {low} and {high}.");
    }
}
