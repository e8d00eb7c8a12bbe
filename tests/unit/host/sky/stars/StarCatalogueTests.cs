using Hourhinge.Numerics;
using Hourhinge.Sky.Bodies;
using Hourhinge.Sky.Places;
using Hourhinge.Sky.Planning;
using Hourhinge.Sky.Stars;

namespace Hourhinge.Tests.Host.Sky.Stars;

public class StarCatalogueTests
{
    /// <summary>118 216 entries with a position: the count of the package's table. 11.6 stars a square degree would be
    /// Tycho; Hipparcos has about 3 (ESA SP-1200).</summary>
    [Fact]
    public void The_table_is_whole_and_sorted()
    {
        Assert.Equal(118_216, StarCatalogue.Stars.Count);
        Assert.Equal(StarCatalogue.Stars.Count, StarCatalogue.Stars.Select(s => s.Hip).Distinct().Count());
        Assert.True(StarCatalogue.Stars.Zip(StarCatalogue.Stars.Skip(1))
            .All(p => p.First.Magnitude <= p.Second.Magnitude));
        Assert.All(StarCatalogue.Stars.Where((_, i) => i % 100 == 0),
            s => Assert.Equal(1, s.Direction.Length, 12));
        Assert.Equal(32349, StarCatalogue.Stars[0].Hip);
        Assert.Equal(-1, StarCatalogue.IndexOfHip(999999));
        int bright = StarCatalogue.CountTo(6.0);
        Assert.True(StarCatalogue.Stars[bright - 1].Magnitude <= 6.0 && StarCatalogue.Stars[bright].Magnitude > 6.0);
        // The naked-eye sky has about 5000 stars to magnitude 6 (Yale Bright Star Catalogue: 9110 to 6.5).
        Assert.InRange(bright, 4800, 5300);
    }

    /// <summary>Places of Hipparcos (ESA SP-1200, from memory) propagated to 2000.0 by ERFA: make_catalogue.py checks
    /// ten; three of them here against what C# reads.</summary>
    [Theory]
    [InlineData(87937, 269.45207, 4.69338, 9.54)] // Barnard's star
    [InlineData(91262, 279.23474, 38.78369, 0.03)] // Vega
    [InlineData(11767, 37.95456, 89.26411, 1.97)] // Polaris
    public void Well_known_stars_are_in_place(int hip, double raDeg, double decDeg, double magnitude)
    {
        CatalogueStar star = StarCatalogue.Stars[StarCatalogue.IndexOfHip(hip)];
        var known = new Equatorial(Angle.FromDegrees(raDeg), Angle.FromDegrees(decDeg));
        Assert.True(Equatorial.FromVector(star.Direction).SeparationFrom(known).Arcseconds < 0.4);
        Assert.Equal(magnitude, star.Magnitude, 2);
    }

    /// <summary>The pole stars of PoleReference.cs, two of them from memory, against the catalogue.</summary>
    [Fact]
    public void Pole_stars_agree_with_the_catalogue() =>
        Assert.All(PoleStar.All, star => Assert.True(StarCatalogue.Stars
            .Min(s => Equatorial.FromVector(s.Direction).SeparationFrom(star.Place.J2000).Arcseconds) < 1, star.Name));

    [Theory]
    [InlineData("alpha Cen", "Rigil Kentaurus")]
    [InlineData("α Lyrae", "Vega")]
    [InlineData("61 Cyg", "61 Cyg")]
    public void Stars_are_found_by_their_designations(string typed, string expected)
    {
        BrightStar star = Catalogue.FindStar(typed)!;
        Assert.Contains(expected, new[] { star.Name, star.Designation });
    }

    /// <summary>Names of which the places came from memory before stay searchable.</summary>
    [Theory]
    [InlineData("Rosette Nebula", 97.9, 5.0)]
    [InlineData("NGC 2237", 97.9, 5.0)]
    [InlineData("Veil Nebula", 312.75, 30.67)]
    [InlineData("North American Nebula", 314.7, 44.3)]
    [InlineData("Large Magellanic Cloud", 80.9, -69.75)]
    [InlineData("SMC", 13.2, -72.8)]
    [InlineData("Needle Galaxy", 189.1, 26.0)]
    [InlineData("Messier 41", 101.5, -20.76)]
    [InlineData("m67", 132.8, 11.8)]
    [InlineData("NGC0224", 10.68, 41.27)]
    public void Objects_are_found_by_name(string typed, double raDeg, double decDeg) =>
        Assert.True(Catalogue.FindDeepSky(typed)!.J2000.SeparationFrom(
            new Equatorial(Angle.FromDegrees(raDeg), Angle.FromDegrees(decDeg))).Degrees < 0.4);
}
