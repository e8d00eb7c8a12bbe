using System.Globalization;
using System.Text.Json;
using Hourhinge.Frames;

namespace Hourhinge.App.Output;

/// <summary>How the program speaks: results to standard output, everything else to standard error.</summary>
internal static class Say
{
    /// <summary>One sentence on standard error.</summary>
    public static void Error(string sentence) => Console.Error.WriteLine($"hourhinge: {sentence}");

    /// <summary>A remark on standard error, so that it never spoils --json.</summary>
    public static void Note(string text) => Console.Error.WriteLine(text);

    /// <summary>A JSON object on standard output.</summary>
    public static void Json(Action<Utf8JsonWriter> fields)
    {
        using Stream output = Console.OpenStandardOutput();
        using (var writer = new Utf8JsonWriter(output, new JsonWriterOptions { Indented = true, Encoder = System.Text.Encodings.Web.JavaScriptEncoder.UnsafeRelaxedJsonEscaping }))
        {
            writer.WriteStartObject();
            fields(writer);
            writer.WriteEndObject();
        }

        output.Write("\n"u8);
    }

    /// <summary>A number with a fixed count of decimals, never "-0.00"; a dash where there is none.</summary>
    public static string Number(double value, int decimals) =>
        double.IsNaN(value) ? "–" : (Math.Round(value, decimals) + 0.0).ToString("F" + decimals, CultureInfo.InvariantCulture);

}

/// <summary>Rounds numbers in JSON, so that nobody reads meaning into the fifteenth digit.</summary>
internal static class JsonNumbers
{
    /// <summary>Writes a number rounded to some decimals; null for not-a-number.</summary>
    public static void Number(this Utf8JsonWriter writer, string name, double value, int decimals)
    {
        if (double.IsFinite(value))
        {
            writer.WriteNumber(name, Math.Round(value, decimals) + 0.0);
        }
        else
        {
            writer.WriteNull(name);
        }
    }

    /// <summary>Writes an array of texts.</summary>
    public static void Texts(this Utf8JsonWriter writer, string name, IEnumerable<string> texts)
    {
        writer.WriteStartArray(name);
        foreach (string text in texts)
        {
            writer.WriteStringValue(text);
        }

        writer.WriteEndArray();
    }

    /// <summary>Writes a fitted number and the half-width of its 95 % interval: name_unit and name_half_95_unit.</summary>
    public static void Estimate(this Utf8JsonWriter writer, string name, Estimate value, string unit, int decimals)
    {
        writer.Number($"{name}_{unit}", value.Value, decimals);
        writer.Number($"{name}_half_95_{unit}", value.Half95, decimals);
    }

    /// <summary>Writes an array of numbers rounded to some decimals.</summary>
    public static void Numbers(this Utf8JsonWriter writer, string name, IEnumerable<double> values, int decimals)
    {
        writer.WriteStartArray(name);
        foreach (double value in values)
        {
            if (double.IsFinite(value))
            {
                writer.WriteNumberValue(Math.Round(value, decimals));
            }
            else
            {
                writer.WriteNullValue();
            }
        }

        writer.WriteEndArray();
    }
}
