using System.Text.Json;
using Hourhinge.Numerics;

namespace Hourhinge.App.Common;

/// <summary>Writes numbers in JSON rounded to meaningful decimals.</summary>
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

    /// <summary>Writes a fitted number and the half-width of its 95 % interval: name_unit and
    /// name_half_95_unit.</summary>
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
