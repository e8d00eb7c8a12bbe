// The parameters of the RIG subsystem that are words or lists: form, direction, thread and pitch, gear, rate, periodic
// errors. Plain numbers are RigCommands.cs.

using Hourhinge.Firmware.Scpi;
using Hourhinge.SharedMath.Geometry;
using Hourhinge.SharedMath.Rig;

namespace Hourhinge.Firmware.Protocol;

/// <summary>Reads words and lists into a rig's parameters, and writes them back as the same words.</summary>
public sealed class RigWords
{
    private const int MaxTeeth = 10000;

    private static readonly string[] _forms = { "STRAIGHT", "BENT", "FIXED" };
    private static readonly string[] _directions = { "CLOSES", "OPENS" };
    private static readonly string[] _rates = { "STARS", "REFRACTED", "SUN", "MOON" };

    /// <summary>Answers a query of this group; null when the header is not of it.</summary>
    public string AnswerTo(ScpiMessage m, RigParameters rig)
    {
        long[] v = rig.Values;
        if (m.HeaderIs("RIG:FORM"))
        {
            return _forms[(int)v[RigParameters.Form]];
        }

        if (m.HeaderIs("RIG:DIRection"))
        {
            return _directions[(int)v[RigParameters.Opens]];
        }

        if (m.HeaderIs("RIG:THRead") || m.HeaderIs("RIG:PITCh"))
        {
            // In mm to the nanometre; an inch thread's exact pitch is a fraction, told as such.
            string pitch = RigParameters.Text(v[RigParameters.Pitch], 6);
            return v[RigParameters.PitchDivisor] == 1 ? pitch : pitch + "," + v[RigParameters.PitchDivisor];
        }

        if (m.HeaderIs("RIG:GEAR"))
        {
            return v[RigParameters.GearNumerator] + "," + v[RigParameters.GearDenominator];
        }

        if (m.HeaderIs("RIG:RATE"))
        {
            return _rates[(int)v[RigParameters.Follow]];
        }

        return m.HeaderIs("RIG:PERiodic") ? PeriodicText(rig) : null;
    }

    /// <summary>Takes a command of this group; false when the header is not of it.</summary>
    /// <param name="m">The unit in hand.</param>
    /// <param name="rig">What to change.</param>
    /// <param name="errors">Where a refusal goes.</param>
    /// <param name="changed">True when the parameters were good and have been taken.</param>
    public bool Parse(ScpiMessage m, RigParameters rig, ScpiErrors errors, out bool changed)
    {
        changed = false;
        if (m.HeaderIs("RIG:FORM"))
        {
            changed = ParseWord(m, errors, _forms, "STRaight, BENT or FIXed", ref rig.Values[RigParameters.Form]);
        }
        else if (m.HeaderIs("RIG:DIRection"))
        {
            changed = ParseWord(m, errors, _directions, "OPENs or CLOSes", ref rig.Values[RigParameters.Opens]);
        }
        else if (m.HeaderIs("RIG:RATE"))
        {
            changed =
                ParseWord(m, errors, _rates, "STARs, REFRacted, SUN or MOON", ref rig.Values[RigParameters.Follow]);
        }
        else if (m.HeaderIs("RIG:THRead"))
        {
            changed = ParseThread(m, errors, rig);
        }
        else if (m.HeaderIs("RIG:PITCh"))
        {
            // A second number divides the first: 25.4,20 is a quarter-inch coarse thread, exactly.
            long divisor = 1;
            changed = m.TryParseNumber(6, 100000, RigParameters.Most(RigParameters.Pitch), "pitch in mm", out long pitch)
                && (m.AtEndOfUnit() || m.TryParseNumber(0, 1, 1000, "threads in that pitch", out divisor))
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

    private static bool ParseWord(ScpiMessage m, ScpiErrors errors, string[] words, string known, ref long value)
    {
        if (!m.TryParseText("word", out string text) || !m.EndUnit())
        {
            return false;
        }

        for (int i = 0; i < words.Length; i++)
        {
            // SCPI's rule: the short form is the first four letters, three when the fourth is a vowel.
            bool vowel = words[i].Length > 4 && "AEIOU".IndexOf(words[i][3]) >= 0;
            if (text == words[i]
                || text == words[i].Substring(0, words[i].Length <= 4 ? words[i].Length : vowel ? 3 : 4))
            {
                value = i;
                return true;
            }
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

        // A metric pitch is whole micrometres; an inch one is 25.4 mm by a whole number of threads.
        long micrometres = (long)((pitch * 1000) + 0.5);
        bool metric = micrometres / 1000.0 == pitch;
        SetPitch(rig, metric ? micrometres * 1000 : 25400000, metric ? 1 : (long)((25.4 / pitch) + 0.5));
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
            if (!m.TryParseNumber(0, 1, MaxTeeth, "teeth of the nut's wheel", out long driven)
                || !m.TryParseNumber(0, 1, MaxTeeth, "teeth of the motor's wheel", out long driver))
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
        if (!m.TryParseNumber(0, 1, RigParameters.MostPeriodic, "number of the periodic error", out long number))
        {
            return false;
        }

        int first = RigParameters.Periodic + (3 * ((int)number - 1));
        for (int i = first; i < first + 3; i++)
        {
            if (!m.TryParseNumber(RigParameters.Scale(i), RigParameters.Least(i), RigParameters.Most(i),
                RigParameters.Name(i), out rig.Values[i]))
            {
                return false;
            }
        }

        return m.EndUnit();
    }

    private static string PeriodicText(RigParameters rig)
    {
        string text = string.Empty;
        for (int i = RigParameters.Periodic; i < RigParameters.Count; i++)
        {
            text += (text.Length == 0 ? string.Empty : ",") + RigParameters.Text(rig.Values[i], RigParameters.Scale(i));
        }

        return text;
    }
}
