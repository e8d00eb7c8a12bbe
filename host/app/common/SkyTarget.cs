using Hourhinge.Numerics;
using Hourhinge.Rig;
using Hourhinge.Sky.Bodies;
using Hourhinge.Sky.Places;
using Hourhinge.Sky.Planning;

namespace Hourhinge.App.Common;

/// <summary>The value of a --target option: a catalogue name, or right ascension and declination.</summary>
internal sealed record SkyTarget(string Name, CataloguePlace Place, FramedTarget Framed)
{
    /// <summary>Finds a target in the tables, or takes RA,DEC in degrees.</summary>
    public static SkyTarget Find(string text)
    {
        if (Catalogue.FindDeepSky(text) is { } deep)
        {
            return new SkyTarget(deep.Name.Length > 0 ? $"{deep.Id} {deep.Name}" : deep.Id, deep.Place, deep.Framed);
        }

        if (Catalogue.FindStar(text) is { } star)
        {
            return new SkyTarget(star.Name.Length > 0 ? star.Name : star.Designation, star.Place,
                new FramedTarget(star.Place.J2000, Angle.Zero));
        }

        double[]? numbers = Pair(text);
        if (numbers != null && numbers[0] is >= 0 and <= 360 && Math.Abs(numbers[1]) <= 90)
        {
            var place = new Equatorial(Angle.FromDegrees(numbers[0]), Angle.FromDegrees(numbers[1]));
            return new SkyTarget(text, new CataloguePlace(place), new FramedTarget(place, Angle.Zero));
        }

        IReadOnlyList<string> near = Catalogue.Suggest(text);
        string question = near.Count == 0 ? "" : $" Did you mean {string.Join(" or ", near)}?";
        throw new InputException(
            $"--target {text}: not in the tables; give a catalogue number (M31, NGC 7000), a name (Veil Nebula, Vega), "
            + $"or RA,DEC in degrees, 0 to 360 and -90 to 90.{question}");
    }

    /// <summary>Parses two angles in degrees with a comma between them; null for anything else.</summary>
    public static double[]? Pair(string text)
    {
        string[] parts = text.Split(',');
        return parts.Length == 2
            && QuantityParser.TryParse(parts[0], "deg", out double a, out _)
            && QuantityParser.TryParse(parts[1], "deg", out double b, out _)
            ? [a, b]
            : null;
    }
}
