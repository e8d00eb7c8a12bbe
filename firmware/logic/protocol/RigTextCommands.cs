// The parameters of the RIG subsystem that are words or lists: form, direction, thread and pitch, gear, rate, periodic
// errors. Plain numbers are RigCommands.cs.

using Hourhinge.Firmware.Scpi;
using Hourhinge.SharedMath.Geometry;
using Hourhinge.SharedMath.Rig;

namespace Hourhinge.Firmware.Protocol;

/// <summary>Parses words and lists into a rig's parameters, and answers with the same words.</summary>
public sealed class RigTextCommands
{
    private const int MaxTeeth = 10000;

    private static readonly NumberRange _drivenTeeth =
        new NumberRange("teeth of the nut's wheel", string.Empty, 0, 1, MaxTeeth, 1);

    private static readonly NumberRange _driverTeeth =
        new NumberRange("teeth of the motor's wheel", string.Empty, 0, 1, MaxTeeth, 1);

    private static readonly NumberRange _periodicNumber =
        new NumberRange("number of the periodic error", string.Empty, 0, 1, RigParameters.MaxPeriodic, 1);

    private static readonly int[] _choices = { RigParameters.Form, RigParameters.Opens, RigParameters.Follow };

    /// <summary>Answers a query of this group; null when the header is not of it.</summary>
    public string AnswerTo(ScpiMessage m, RigParameters rig)
    {
        long[] v = rig.Values;
        for (int i = 0; i < _choices.Length; i++)
        {
            RigKey key = RigParameters.KeyOf(_choices[i]);
            if (m.HeaderIs(key.Header))
            {
                return key.ScpiWords[(int)v[_choices[i]]].ToUpper();
            }
        }

        if (m.HeaderIs("RIG:THRead") || m.HeaderIs("RIG:PITCh"))
        {
            // In mm to the nanometre; an inch thread's exact pitch is a fraction, answered as such.
            string pitch = RigParameters.Format(v[RigParameters.Pitch], 6);
            return v[RigParameters.PitchDivisor] == 1 ? pitch : pitch + "," + v[RigParameters.PitchDivisor];
        }

        if (m.HeaderIs("RIG:GEAR"))
        {
            return v[RigParameters.GearNumerator] + "," + v[RigParameters.GearDenominator];
        }

        return m.HeaderIs("RIG:PERiodic") ? PeriodicText(m, rig) : null;
    }

    /// <summary>Parses a command of this group; false when the header is not of it.</summary>
    /// <param name="m">The message, at this unit.</param>
    /// <param name="rig">What to change.</param>
    /// <param name="errors">Where an error goes.</param>
    /// <param name="changed">True when the parameters are valid and set.</param>
    public bool Parse(ScpiMessage m, RigParameters rig, ScpiErrors errors, out bool changed)
    {
        changed = false;
        for (int i = 0; i < _choices.Length; i++)
        {
            RigKey key = RigParameters.KeyOf(_choices[i]);
            if (m.HeaderIs(key.Header))
            {
                changed = ParseWord(m, errors, key, ref rig.Values[_choices[i]]);
                return true;
            }
        }

        if (m.HeaderIs("RIG:THRead"))
        {
            changed = ParseThread(m, errors, rig);
        }
        else if (m.HeaderIs("RIG:PITCh"))
        {
            // A second number divides the first: 25.4,20 is a quarter-inch coarse thread, exactly.
            long divisor = 1;
            changed = ParseKey(m, RigParameters.Pitch, out long pitch)
                && (m.AtEndOfUnit() || ParseKey(m, RigParameters.PitchDivisor, out divisor))
                && m.EndUnit();
            SetPitch(rig, pitch, divisor);
        }
        else if (m.HeaderIs("RIG:GEAR"))
        {
            changed = ParseGear(m, errors, rig);
        }
        else if (m.HeaderIs("RIG:PERiodic"))
        {
            changed = ParsePeriodic(m, rig);
        }
        else
        {
            return false;
        }

        return true;
    }

    private static bool ParseWord(ScpiMessage m, ScpiErrors errors, RigKey key, ref long value)
    {
        if (!m.TryParseText("word", out string text) || !m.EndUnit())
        {
            return false;
        }

        string known = string.Empty;
        for (int i = 0; i < key.ScpiWords.Length; i++)
        {
            string word = key.ScpiWords[i];
            string longForm = word.ToUpper();
            int capitals = 0;
            while (capitals < word.Length && word[capitals] <= 'Z')
            {
                capitals++;
            }

            if (text == longForm || text == word.Substring(0, capitals))
            {
                value = i;
                return true;
            }

            known += (i == 0 ? string.Empty : i == key.ScpiWords.Length - 1 ? " or " : ", ") + word;
        }

        errors.Add(ScpiErrors.IllegalValue, text + ": known are " + known);
        return false;
    }

    private static bool ParseThread(ScpiMessage m, ScpiErrors errors, RigParameters rig)
    {
        if (!m.TryParseText("thread", out string name) || !m.EndUnit())
        {
            return false;
        }

        double pitch = ThreadTable.PitchMm(name);
        if (pitch == 0)
        {
            errors.Add(ScpiErrors.IllegalValue, "no such thread in ISO 261 or ASME B1.1; give RIG:PITCh in mm instead");
            return false;
        }

        // A metric pitch is an integer number of micrometres. So is that of 1/4-20, an inch thread all the same.
        int perInch = ThreadTable.PerInch(pitch);
        SetPitch(rig, perInch > 0 ? 25400000 : (long)((pitch * 1000) + 0.5) * 1000, perInch > 0 ? perInch : 1);
        return true;
    }

    private static void SetPitch(RigParameters rig, long nanometres, long divisor)
    {
        rig.Values[RigParameters.Pitch] = nanometres;
        rig.Values[RigParameters.PitchDivisor] = divisor;
    }

    // Pairs of tooth counts: nut side, motor side, nut side, motor side.
    private static bool ParseGear(ScpiMessage m, ScpiErrors errors, RigParameters rig)
    {
        GearTrain train = new GearTrain(1, 1);
        do
        {
            if (!m.TryParseNumber(_drivenTeeth, out long driven)
                || !m.TryParseNumber(_driverTeeth, out long driver))
            {
                return false;
            }

            train = train.WithPair((int)driven, (int)driver);
            if (train == null)
            {
                errors.Add(ScpiErrors.IllegalValue, "the gear ratio as a fraction has become too large, beyond 2^40");
                m.Abandon();
                return false;
            }
        }
        while (!m.AtEndOfUnit());

        rig.Values[RigParameters.GearNumerator] = train.Numerator;
        rig.Values[RigParameters.GearDenominator] = train.Denominator;
        return m.EndUnit();
    }

    private static bool ParsePeriodic(ScpiMessage m, RigParameters rig)
    {
        if (!m.TryParseNumber(_periodicNumber, out long number))
        {
            return false;
        }

        int first = RigParameters.Periodic + (3 * ((int)number - 1));
        for (int i = first; i < first + 3; i++)
        {
            if (!ParseKey(m, i, out rig.Values[i]))
            {
                return false;
            }
        }

        return m.EndUnit();
    }

    private static bool ParseKey(ScpiMessage m, int index, out long value)
    {
        return m.TryParseNumber(RangeOf(RigParameters.KeyOf(index)), out value);
    }

    /// <summary>The numeric parameter of a row of the rig's keys.</summary>
    public static NumberRange RangeOf(RigKey key) =>
        new NumberRange(key.Key, key.Unit, key.Scale, key.Min, key.Max, key.Default);

    // The four numbers that the command takes; null after an error.
    private static string PeriodicText(ScpiMessage m, RigParameters rig)
    {
        long number = 1;
        if (!m.AtEndOfUnit() && !m.TryParseNumber(_periodicNumber, out number))
        {
            return null;
        }

        string text = number.ToString();
        int first = RigParameters.Periodic + (3 * ((int)number - 1));
        for (int i = first; i < first + 3; i++)
        {
            text += "," + RigParameters.Format(rig.Values[i], RigParameters.KeyOf(i).Scale);
        }

        return text;
    }
}
