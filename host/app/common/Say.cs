using System.Globalization;
using System.Text.Json;

namespace Hourhinge.App.Common;

/// <summary>How the program speaks: results to standard output, everything else to standard error.</summary>
internal static class ConsoleOutput
{
    /// <summary>One sentence on standard error.</summary>
    public static void Error(string sentence) => Console.Error.WriteLine($"hourhinge: {sentence}");

    /// <summary>A remark on standard error, so that it never spoils --json.</summary>
    public static void Note(string text) => Console.Error.WriteLine(text);

    /// <summary>A JSON object on standard output.</summary>
    public static void Json(Action<Utf8JsonWriter> fields)
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

    /// <summary>A number with a fixed count of decimals, never "-0.00"; a dash where there is none.</summary>
    public static string Number(double value, int decimals) =>
        double.IsNaN(value)
        ? "–"
        : (Math.Round(value, decimals) + 0.0).ToString("F" + decimals, CultureInfo.InvariantCulture);

}
