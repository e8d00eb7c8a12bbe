using Hourhinge.Numerics;
using Hourhinge.Sky.Bodies;
using Hourhinge.Sky.Observing;
using Hourhinge.Sky.Places;
using Hourhinge.Sky.Time;
using Hourhinge.Starfield.Geometry;
using Hourhinge.Starfield.Scenes;
using Xunit.Abstractions;

namespace Hourhinge.Tests.Host.Starfield;

/// <summary>
/// Real stars of the renderer against host/sky, which is checked against ERFA: two sets of formulas (intermediate pole
/// and Earth rotation angle here; equinox, precession angles and sidereal time there).
/// </summary>
public class CatalogueFieldTests(ITestOutputHelper output)
{
    [Theory]
    [InlineData(2026, 11, 14)]
    [InlineData(2021, 9, 29)]
    [InlineData(2035, 4, 2)]
    public void Places_agree_with_the_apparent_places_of_the_sky_library(int year, int month, int day)
    {
        var utc = new DateTime(year, month, day, 20, 0, 0, DateTimeKind.Utc);
        var random = new Random(8);
        (double, double, double)[] stars = [.. Enumerable.Range(0, 200).Select(_ =>
            (random.NextDouble() * 360, Math.Asin((2 * random.NextDouble()) - 1) * 180 / Math.PI, 5.0))];
        IReadOnlyList<SimulatedStar> drawn = CatalogueField.OfDate(stars, utc);
        var t = Instant.FromUtc(new DateTimeOffset(utc, TimeSpan.Zero));
        var site = Site.FromDegrees(42, 10);
        double rotation = new DiurnalMotion(new SimulatedSite(42, 10), utc, null).LocalRotationAngleRad(0);
        var seen = new SeenSky(t, site, Air.None);
        double worst = 0, worstSeen = 0;
        for (int i = 0; i < stars.Length; i++)
        {
            var catalogue = new Equatorial(Angle.FromDegrees(stars[i].Item1), Angle.FromDegrees(stars[i].Item2));
            HourAngleDeclination place = Horizon.HourAngle(ApparentPlace.Of(new CataloguePlace(catalogue), t), t, site);
            var here = new Equatorial(new Angle(rotation) - Angle.FromDegrees(drawn[i].RightAscensionDeg),
                Angle.FromDegrees(drawn[i].DeclinationDeg));
            worst = Math.Max(worst, here.SeparationFrom(new Equatorial(place.HourAngle, place.Declination)).Arcseconds);
            HourAngleDeclination direct = seen.Place(seen.Seen(catalogue.ToVector()));
            worstSeen = Math.Max(worstSeen, new Equatorial(direct.HourAngle, direct.Declination)
                .SeparationFrom(new Equatorial(place.HourAngle, place.Declination)).Arcseconds);
        }

        output.WriteLine($"renderer {worst:F2}, SeenSky {worstSeen:F4} arcsec");
        Assert.InRange(worst, 0, 1.5);
        Assert.InRange(worstSeen, 0, 0.02);
    }
}
