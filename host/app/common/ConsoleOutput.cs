using System.Globalization;
using System.Text.Json;
using Hourhinge.SharedMath.Geometry;
using Spectre.Console;

namespace Hourhinge.App.Common;

/// <summary>Output of the program: results to standard output, everything else to standard error. Text is shown by
/// <see cref="VisibleText"/>: nothing from outside controls the terminal.</summary>
internal static class ConsoleOutput
{
    /// <summary>Opens standard output for bytes; a test puts its own stream here.</summary>
    public static Func<Stream> OpenBytes { get; set; } = Console.OpenStandardOutput;

    /// <summary>On a terminal, standard error is dim red too: a white sentence costs dark adaptation.</summary>
    public static bool IsNight { get; set; }

    /// <summary>Writes one sentence on standard error. An error channel that is closed or full is no reason to
    /// fail.</summary>
    public static void WriteError(string sentence)
    {
        try
        {
            WriteToError($"hourhinge: {VisibleText.Of(sentence)}");
        }
        catch (IOException)
        {
            // Nobody can be told.
        }
    }

    /// <summary>Writes a remark on standard error, so that it does not mix with --json.</summary>
    public static void WriteRemark(string text) => WriteToError(VisibleText.Of(text, keepLines: true));

    /// <summary>Writes a line of a result on standard output.</summary>
    public static void WriteLine(string text)
    {
        if (Console.IsOutputRedirected)
        {
            Console.WriteLine(VisibleText.Of(text));
        }
        else
        {
            new Theme(false).Line(text);
        }
    }

    /// <summary>Writes a JSON object on standard output, when it is complete.</summary>
    /// <param name="fields">Writes the fields.</param>
    /// <param name="oneLine">Without line breaks, for a stream of objects.</param>
    public static void WriteJson(Action<Utf8JsonWriter> fields, bool oneLine = false)
    {
        using var memory = new MemoryStream();
        using (var writer = new Utf8JsonWriter(memory, new JsonWriterOptions
        {
            Indented = !oneLine,
            Encoder = System.Text.Encodings.Web.JavaScriptEncoder.UnsafeRelaxedJsonEscaping
        }))
        {
            writer.WriteStartObject();
            fields(writer);
            writer.WriteEndObject();
        }

        memory.Write("\n"u8);
        WriteBytes(memory.ToArray());
    }

    /// <summary>Writes bytes on standard output as they are.</summary>
    public static void WriteBytes(byte[] bytes)
    {
        using Stream output = OpenBytes();
        output.Write(bytes);
    }

    /// <summary>A ratio as an exact fraction, or as an integer where it is one.</summary>
    public static string Exact(GearTrain ratio) =>
        ratio.Denominator == 1 ? $"{ratio.Numerator}" : $"{ratio.Numerator}/{ratio.Denominator}";

    // On a terminal lines break between words, not within them.
    private static void WriteToError(string text)
    {
        if (Console.IsErrorRedirected)
        {
            Console.Error.WriteLine(text);
        }
        else
        {
            var settings = new AnsiConsoleSettings { Out = new AnsiConsoleOutput(Console.Error) };
            new Theme(IsNight).Line(text, AnsiConsole.Create(settings));
        }
    }

    /// <summary>Formats a number with a fixed count of decimals, never "-0.00"; a dash for not-a-number.</summary>
    public static string Number(double value, int decimals) =>
        double.IsNaN(value)
        ? "–"
        : (Math.Round(value, decimals) + 0.0).ToString("F" + decimals, CultureInfo.InvariantCulture);
}
