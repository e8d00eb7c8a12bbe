// Where stars fall on the sensor, against positions made by ERFA and astropy (tests/reference/starfield).

using Hourhinge.Numerics;
using Hourhinge.Starfield.Geometry;
using Hourhinge.Starfield.Render;
using Hourhinge.Starfield.Scenes;

namespace Hourhinge.Tests.Host.Starfield;

public class SkyGeometryTests
{
    private const double Deg = Math.PI / 180;

    // The tables carry nine decimals; 2e-5 px is 0.0003 arcsec at 50 mm.
    private const double TolerancePx = 2e-5;

    private static Vector3 Direction(double raDeg, double decDeg) =>
        Vector3.FromSpherical(Angle.FromDegrees(raDeg), Angle.FromDegrees(decDeg));

    private static void Near(double x, double y, PixelPoint? at)
    {
        Assert.NotNull(at);
        Assert.InRange(at.Value.DistanceTo(new PixelPoint(x, y)), 0, TolerancePx);
    }

    [Fact]
    public void Gnomonic_projection_and_roll_agree_with_astropy_wcs()
    {
        foreach (Dictionary<string, double> row in StarfieldReference.Table("tan.csv"))
        {
            // A site where the pointing stands on the meridian, and high.
            double era = new DiurnalMotion(new SimulatedSite(0), StarfieldReference.Evening, null)
                .LocalRotationAngleRad(0) / Deg;
            double longitude = Math.IEEERemainder(row["ra0_deg"] - era, 360);
            Scene scene = StarfieldReference.Scene(6000, 4000) with
            {
                Site = new SimulatedSite(Math.Clamp(row["dec0_deg"], -70, 70), longitude),
                Pointing = Pointing.AtRightAscension(row["ra0_deg"], row["dec0_deg"], row["roll_deg"]),
                Lens = new Lens(row["focal_mm"], 4),
            };
            ExposurePath path = new FrameRenderer(scene).Path(0, 1);
            Near(row["x_px"], row["y_px"], path.Begin(Direction(row["ra_deg"], row["dec_deg"])));
        }
    }

    [Fact]
    public void A_standing_camera_sees_the_sky_turn_as_ERFA_says()
    {
        foreach (Dictionary<string, double> row in StarfieldReference.Table("stopped.csv"))
        {
            Scene scene = StarfieldReference.Scene(6000, 4000) with
            {
                Site = new SimulatedSite(row["latitude_deg"], row["longitude_deg"]),
                Pointing = Pointing.AtHourAngle(row["hour_angle0_deg"], row["dec0_deg"], row["roll_deg"]),
            };
            ExposurePath path = new FrameRenderer(scene).Path(row["t_s"], 1);
            Near(row["x_px"], row["y_px"], path.Begin(Direction(row["ra_deg"], row["dec_deg"])));
        }
    }

    [Fact]
    public void A_board_turns_about_its_real_axis_as_ERFA_matrices_say()
    {
        foreach (Dictionary<string, double> row in StarfieldReference.Table("board.csv"))
        {
            double rate = 7.292115e-5 * (1 + row["rate_error"]);
            Scene scene = StarfieldReference.Scene(6000, 4000) with
            {
                Site = new SimulatedSite(row["latitude_deg"]),
                Mount = new HingeMount(t => rate * t, row["axis_alt_arcmin"], row["axis_az_arcmin"]),
                Pointing = Pointing.AtHourAngle(row["hour_angle0_deg"], row["dec0_deg"]),
            };
            ExposurePath path = new FrameRenderer(scene).Path(row["t_s"], 1);
            Near(row["x_px"], row["y_px"], path.Begin(Direction(row["ra_deg"], row["dec_deg"])));
        }
    }

    [Fact]
    public void A_stopped_drive_leaves_trails_of_15_041067_arcsec_per_second_times_cosine_of_declination()
    {
        // IERS Conventions (2010): 7.292115e-5 rad/s.
        Assert.Equal(15.041067, DiurnalMotion.RateRadPerSec / Deg * 3600, 6);
        foreach (Dictionary<string, double> row in StarfieldReference.Table("trail.csv"))
        {
            double dec = row["dec_deg"], t = row["t_s"];
            double law = 15.041067 * Math.Cos(dec * Deg) * t;
            Assert.InRange((row["arc_arcsec"] / law) - 1, -3e-6, 1e-7);

            Scene scene = StarfieldReference.Scene() with
            {
                Site = new SimulatedSite(Math.Clamp(dec, -60, 60)),
                Pointing = Pointing.AtHourAngle(0.1 / Deg, dec),
            };
            var renderer = new FrameRenderer(scene);
            ExposurePath path = renderer.Path(0, t);
            Vector3 star = Direction(renderer.CentreRightAscensionDeg, dec);
            // The trail begins in the middle of the sensor, so its length is a tangent.
            double px = path.End(star)!.Value.DistanceTo(path.Begin(star)!.Value);
            double arc = Math.Atan(px * 3.9e-3 / 50) / Deg * 3600;
            Assert.InRange(arc - row["arc_arcsec"], -1e-5, 1e-5);
        }
    }

    [Fact]
    public void Refraction_agrees_with_ERFA_refco()
    {
        var model = new RefractionModel(1010, 10);
        foreach (Dictionary<string, double> row in StarfieldReference.Table("refraction.csv"))
        {
            double z = row["airless_zenith_distance_deg"];
            // The accuracy that RefractionModel states.
            double share = z <= 60 ? 0.005 : z <= 75 ? 0.008 : 0.012;
            Assert.InRange(model.RefractionRad(Math.Tan(z * Deg)) / Deg * 3600 / row["lift_arcsec"], 1 - share,
                1 + share);
        }
    }

    [Fact]
    public void Refraction_lifts_a_star_towards_the_zenith()
    {
        // Looking south on the meridian with north up, up is towards the zenith: a star 40 degrees up rises by
        // 1.16 arcmin x (lift there minus lift where the camera was aimed) - so compare two aims: airless and not.
        Scene airless =
            StarfieldReference.Scene() with { Site = new SimulatedSite(47), Pointing = Pointing.AtHourAngle(0, -3) };
        Scene real = airless with { Refraction = new RefractionModel() };
        var renderer = new FrameRenderer(airless);
        double ra = renderer.CentreRightAscensionDeg;
        Vector3 low = Direction(ra, -4);
        double y = renderer.Path(0, 1).Begin(low)!.Value.Y;
        double refracted = new FrameRenderer(real).Path(0, 1).Begin(low)!.Value.Y;
        double erfa40 = Lift(50), erfa39 = Lift(51);
        double shiftArcsec = (y - refracted) * 3.9e-3 / 50 / Deg * 3600;
        Assert.InRange(shiftArcsec - (erfa39 - erfa40), -0.05, 0.05);

        // R = 58.3" tan z to first order, enough for a difference over one degree.
        static double Lift(double z) => (58.29 * Math.Tan(z * Deg)) - (0.067 * Math.Pow(Math.Tan(z * Deg), 3));
    }

    [Fact]
    public void A_perfect_drive_holds_every_star_of_the_field_still()
    {
        Scene scene = StarfieldReference.Scene(6000, 4000) with
        {
            Mount = new HingeMount(t => DiurnalMotion.RateRadPerSec * t),
        };
        var renderer = new FrameRenderer(scene);
        Vector3 star = Direction(renderer.CentreRightAscensionDeg + 10, 35);
        PixelPoint a = renderer.Path(0, 30).Begin(star)!.Value, b = renderer.Path(7200, 30).Begin(star)!.Value;
        Assert.InRange(a.DistanceTo(b), 0, 1e-6);
    }

    [Theory]
    [InlineData(0.0)]
    [InlineData(1.0)]
    [InlineData(-3.0)]
    public void No_star_moves_a_fifth_of_a_pixel_within_one_step(double rateFactor)
    {
        Scene scene = StarfieldReference.Scene(6000, 4000) with
        {
            // A wobble of 60 arcsec with a period of 4 s on top of a wrong rate, and an axis far off.
            Mount = new HingeMount(
                t => (DiurnalMotion.RateRadPerSec * t * rateFactor) + (Deg / 60 * Math.Sin(t * Math.PI / 2)), 300, 300),
            Refraction = new RefractionModel(),
            Lens = new Lens(200, 4),
        };
        var renderer = new FrameRenderer(scene);
        ExposurePath path = renderer.Path(12.3, 30);
        var places = new List<(PixelPoint At, double Seconds)>();
        foreach ((double dRa, double dDec) in new[] { (0.0, 0.0), (3.5, 2.1), (-3.5, -2.1), (3.5, -2.1) })
        {
            Assert.True(path.Trace(Direction(renderer.CentreRightAscensionDeg + dRa, 30 + dDec), places));
            Assert.Equal(30, places.Sum(p => p.Seconds), 9);
            for (int i = 1; i < places.Count; i++)
            {
                // Between the middles of two steps lies half of each.
                Assert.InRange(places[i].At.DistanceTo(places[i - 1].At), 0, ExposurePath.MaxStepPx);
            }
        }
    }

    [Fact]
    public void A_pointing_near_the_horizon_is_refused_by_name()
    {
        Scene scene = StarfieldReference.Scene() with { Pointing = Pointing.AtHourAngle(0, -35) };
        Assert.Contains("declination -35", Assert.Throws<ArgumentException>(() => new FrameRenderer(scene)).Message,
            StringComparison.Ordinal);
        Assert.Contains("Latitude (degrees) is 91; it must lie between -89 and 89",
            Assert.Throws<ArgumentOutOfRangeException>(() => new SimulatedSite(91)).Message, StringComparison.Ordinal);
    }
}
