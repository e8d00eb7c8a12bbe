using Hourhinge.App.Common;
using Hourhinge.Rig;
using Hourhinge.SharedMath.Rig;

namespace Hourhinge.App.Device;

/// <summary>A periodic error typed as "periodic.1=PERIOD,AMPLITUDE,PHASE": nut turns, micrometres, degrees.</summary>
internal sealed class PeriodicEdit
{
    /// <summary>How it is typed.</summary>
    public const string Form = "periodic.1=1,12um,30deg";

    private const string Prefix = "periodic.";

    private readonly int _first;
    private readonly double[] _values;

    private PeriodicEdit(int first, double[] values)
    {
        _first = first;
        _values = values;
    }

    /// <summary>Null for another key; an <see cref="InputException"/> for wrong numbers.</summary>
    public static PeriodicEdit? Parse(string typed)
    {
        int equals = typed.IndexOf('=', StringComparison.Ordinal);
        if (equals < 0 || !typed.StartsWith(Prefix, StringComparison.Ordinal)
            || !int.TryParse(typed[Prefix.Length..equals].Trim(), out int number))
        {
            return null;
        }

        string[] parts = typed[(equals + 1)..].Split(',');
        if (number is < 1 or > RigParameters.MaxPeriodic || parts.Length != 3)
        {
            throw new InputException($"{typed}: must be like {Form}: number of the error 1 to "
                + $"{RigParameters.MaxPeriodic}, then period in nut turns, amplitude in micrometres and phase in "
                + "degrees.");
        }

        int first = RigParameters.Periodic + (3 * (number - 1));
        return new PeriodicEdit(first, [.. parts.Select((part, i) =>
        {
            RigKey key = RigParameters.KeyOf(first + i);
            double scale = Math.Pow(10, key.Scale);
            return QuantityParser.TryParse(part, key.Unit, out double value, out string problem)
                && value >= key.Min / scale && value <= key.Max / scale
                ? value
                : throw new InputException($"{typed}: {key.Key} = {part.Trim()}: "
                    + $"{(problem.Length > 0 ? problem + "," : "must be")} {key.Range()}.");
        })]);
    }

    /// <summary>Sets the values in a rig.</summary>
    public void Apply(RigParameters rig)
    {
        for (int i = 0; i < _values.Length; i++)
        {
            rig.Set(_first + i, _values[i]);
        }
    }

    /// <summary>True for the parameters that this sets.</summary>
    public bool Sets(int index) => index >= _first && index < _first + _values.Length;
}
