using System.Globalization;
using System.Text.Json;

namespace Hourhinge.App.Common;

/// <summary>Output of the program: results to standard output, everything else to standard error.</summary>
internal static class ConsoleOutput
{
    /// <summary>Writes one sentence on standard error.</summary>
    public static void WriteError(string sentence) => Console.Error.WriteLine($"hourhinge: {sentence}");

    /// <summary>Writes a remark on standard error, so that it does not mix with --json.</summary>
    public static void WriteRemark(string text) => Console.Error.WriteLine(text);

    /// <summary>Writes a JSON object on standard output.</summary>
    public static void WriteJson(Action<Utf8JsonWriter> fields)
    {
        using Stream output = Console.OpenStandardOutput();
        using (var writer = new Utf8JsonWriter(output, new JsonWriterOptions
        {
            Indented = true,
            Encoder = System.Text.Encodings.Web.JavaScriptEncoder.UnsafeRelaxedJsonEscaping
        }))
        {
            writer.WriteStartObject();
            fields(writer);
            writer.WriteEndObject();
        }

        output.Write("\n"u8);
    }

    /// <summary>Formats a number with a fixed count of decimals, never "-0.00"; a dash for not-a-number.</summary>
    public static string Number(double value, int decimals) =>
        double.IsNaN(value)
        ? "–"
        : (Math.Round(value, decimals) + 0.0).ToString("F" + decimals, CultureInfo.InvariantCulture);
}
