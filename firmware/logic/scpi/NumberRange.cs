// Range, default and unit of a numeric parameter. SCPI-1999 volume 1, 7.2 (numbers) and 7.3 (Boolean).

namespace Hourhinge.Firmware.Scpi;

/// <summary>A numeric parameter in units of 10^-scale of its unit. Immutable.</summary>
public sealed class NumberRange
{
    /// <summary>A parameter.</summary>
    /// <param name="name">Its name, with the unit where it has one: "exposure in seconds".</param>
    /// <param name="unit">Its unit: seconds, mm, micrometres, degrees, arcseconds, hours, ppm; any other takes no
    /// suffix.</param>
    /// <param name="scale">Decimals.</param>
    /// <param name="min">Smallest value, scaled.</param>
    /// <param name="max">Largest value, scaled.</param>
    /// <param name="initial">What DEFault stands for, scaled.</param>
    public NumberRange(string name, string unit, int scale, long min, long max, long initial)
    {
        Name = name;
        Unit = unit;
        Scale = scale;
        Min = min;
        Max = max;
        Default = initial;
    }

    /// <summary>Name, for error texts.</summary>
    public string Name { get; }

    /// <summary>Unit; empty for a plain number.</summary>
    public string Unit { get; }

    /// <summary>Decimals.</summary>
    public int Scale { get; }

    /// <summary>Smallest value.</summary>
    public long Min { get; }

    /// <summary>Largest value.</summary>
    public long Max { get; }

    /// <summary>What DEFault stands for.</summary>
    public long Default { get; }

    /// <summary>True for a switch, which also takes ON and OFF.</summary>
    public bool IsBoolean => Scale == 0 && Min == 0 && Max == 1;

    /// <summary>The suffix of the unit without a multiplier; null when the parameter takes none (IEEE 488.2, table
    /// 7-1).</summary>
    public string Suffix
    {
        get
        {
            switch (Unit)
            {
                case "seconds": return "S";
                case "mm": return "M";
                case "micrometres": return "M";
                case "degrees": return "DEG";
                case "arcseconds": return "SEC";
                case "hours": return "HR";
                case "ppm": return "PPM";
                default: return null;
            }
        }
    }

    /// <summary>Power of ten of the unit: -3 for mm.</summary>
    public int UnitExponent => Unit == "mm" ? -3 : Unit == "micrometres" ? -6 : 0;

    /// <summary>The range in words.</summary>
    public string Text() =>
        Name + " must be " + DecimalText.Format(Min, Scale) + " to " + DecimalText.Format(Max, Scale);

    /// <summary>The value of MINimum, MAXimum or DEFault, in capitals; false for another word.</summary>
    public bool TryLimit(string word, out long value)
    {
        value = 0;
        if (word == "MIN" || word == "MINIMUM")
        {
            value = Min;
        }
        else if (word == "MAX" || word == "MAXIMUM")
        {
            value = Max;
        }
        else if (word == "DEF" || word == "DEFAULT")
        {
            value = Default;
        }
        else
        {
            return false;
        }

        return true;
    }

    /// <summary>The value of a word in a message; false for an unknown one.</summary>
    public bool TryWord(byte[] text, int start, int end, out long value)
    {
        char[] capitals = new char[end - start];
        for (int i = start; i < end; i++)
        {
            byte b = text[i];
            capitals[i - start] = (char)(b >= 'a' && b <= 'z' ? b - 32 : b);
        }

        string word = new string(capitals);
        if (IsBoolean && (word == "ON" || word == "OFF"))
        {
            value = word == "ON" ? 1 : 0;
            return true;
        }

        return TryLimit(word, out value);
    }
}
