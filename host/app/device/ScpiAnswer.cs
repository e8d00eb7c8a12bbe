using System.Globalization;
using Hourhinge.App.Link;

namespace Hourhinge.App.Device;

/// <summary>Answers of a controller, taken apart. A damaged answer is a <see cref="DeviceException"/>.</summary>
internal static class ScpiAnswer
{
    /// <summary>The parts between separators that stand outside quotes.</summary>
    public static string[] Split(string answer, char separator)
    {
        var parts = new List<string>();
        int start = 0;
        bool isQuoted = false;
        for (int i = 0; i < answer.Length; i++)
        {
            isQuoted ^= answer[i] == '"';
            if (answer[i] == separator && !isQuoted)
            {
                parts.Add(answer[start..i]);
                start = i + 1;
            }
        }

        parts.Add(answer[start..]);
        return [.. parts];
    }

    /// <summary>A number; not-a-number for the standard's 9.91E37.</summary>
    public static double Number(string text) =>
        !double.TryParse(text, NumberStyles.Float, CultureInfo.InvariantCulture, out double value)
            || !double.IsFinite(value)
            ? throw new DeviceException(
                $"the controller answered `{ControllerLink.Shown(text)}` where a number was expected.")
            : value == 9.91e37 ? double.NaN : value;

    /// <summary>A string without its quotes.</summary>
    public static string Text(string quoted) => quoted.Trim('"').Replace("\"\"", "\"", StringComparison.Ordinal);
}
