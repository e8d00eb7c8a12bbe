// Each source of blur against a formula worked by hand, which knows nothing of the code that made it; then what the
// budget does with them. Not here: the sky's own formulas (tests/unit/sky), the command (tests/unit/host).
using Hourhinge.Planning;
using Hourhinge.Rig;
using Hourhinge.Sky.Planning;
using Hourhinge.Tests.Host.App;

namespace Hourhinge.Tests.Host.Planning;

public sealed class ExposureBudgetTests
{
    // IERS Conventions 2010, nominal rate of the Earth's rotation.
    private const double Omega = 7.292115e-5;
    private const double SkyArcsecPerSec = 15.041067;
    private const double Dec = 41 * Math.PI / 180;
    private const double Seconds = 240;
    private static readonly BudgetInput _input = Input("fixed-rod-offset", 135, 4, Seconds, 41, 1.5);

    [Theory]
    [InlineData("geometry", 0.5 / 229.2 * SkyArcsecPerSec * 0.754710 * Seconds, 1e-4)] // 0.5 mm of an arm of 229.2 mm
    [InlineData("clock", 20e-6 * SkyArcsecPerSec * 0.754710 * Seconds, 1e-4)] // 20 ppm
    [InlineData("sag", 0.02 * SkyArcsecPerSec * 0.754710 * Seconds, 1e-4)] // 2 % given
    [InlineData("step", 1.0008 / 9600 / 229.2 * 206264.806 * 0.754710,
        0.01)] // 200 x 16 x 60/20 steps a turn, rod near square
    [InlineData("pixel", 206.264806 * 5.9 / 135, 1e-6)] // the usual 206 x µm / mm
    [InlineData("diffraction", 1.029 * 0.55e-3 * 4 / 135 * 206264.806, 0.01)] // 1.029 λ/D
    [InlineData("seeing", 3, 1e-9)]
    // An axis off by ε drags a star at ω ε × s: at most ωε; the part along s turns the field at most by ωε cos δ.
    [InlineData("axis-drift", 30 * 60 * Omega * Seconds, 1e-3)]
    [InlineData("field-rotation", 30 * 60 * Omega * 0.754710 * Seconds * (3605.551 * 5.9e-3 / 135),
        5e-3)] // corner at 3605.55 px
    public void A_source_is_what_the_hand_makes_of_it(string key, double arcsec, double relative)
    {
        var budget = new ExposureBudget(_input with { SagPercent = new SourcedValue(2, "given") });
        Assert.InRange(Source(budget, key).Arcsec, arcsec * (1 - relative), arcsec * (1 + relative));
    }

    [Theory]
    [InlineData(5)]
    [InlineData(20)]
    [InlineData(45)]
    [InlineData(240)]
    public void Periodic_error_is_the_largest_swing_within_the_exposure(double seconds)
    {
        // One nut turn: pitch over arm and rate, 59.9 s. All starts and all pairs of moments are tried.
        double period = 1.0008 / 229.2 / Omega, amplitude = 10 * Math.Cos(Dec), most = 0;
        for (int start = 0; start < 360; start++)
        {
            var wave = Enumerable.Range(0, 401).Select(i => amplitude
                * Math.Sin((start * Math.PI / 180) + (2 * Math.PI * seconds * i / 400 / period))).ToList();
            most = Math.Max(most, wave.Max() - wave.Min());
        }

        double found = Source(new ExposureBudget(_input with { ExposureSec = seconds }), "periodic").Arcsec;
        Assert.InRange(found, most * 0.98, most * 1.02);
    }

    [Theory]
    [InlineData(-3)]
    [InlineData(0)]
    [InlineData(1.5)]
    [InlineData(4)]
    public void Refraction_moves_a_star_as_the_tangent_law_says(double hourAngle)
    {
        // R = 58.3" tan z at 10 °C and 1010 hPa (J. Meeus, Astronomical Algorithms, 2nd ed., ch. 16; from memory), at
        // sea level; good to a few percent from 15 degrees up. Moved as a vector, one second on either side.
        BudgetInput input = _input with { Site = new SiteData("", 47, 10, 0), HourAngleHours = hourAngle };
        (double E, double N, double U) Seen(double t)
        {
            double h = (hourAngle * Math.PI / 12) + (Omega * t), lat = 47 * Math.PI / 180;
            double e = -Math.Cos(Dec) * Math.Sin(h);
            double n = (Math.Sin(Dec) * Math.Cos(lat)) - (Math.Cos(Dec) * Math.Cos(h) * Math.Sin(lat));
            double u = (Math.Sin(Dec) * Math.Sin(lat)) + (Math.Cos(Dec) * Math.Cos(h) * Math.Cos(lat));
            double z = Math.Acos(u), seen = z
                - (58.3 / 206264.806 * Math.Tan(z)), across = Math.Sin(seen) / Math.Sin(z);
            return (e * across, n * across, Math.Cos(seen));
        }

        // The hinge turns the observed star about the refracted pole at the sky's rate.
        (double E, double N, double U) a = Seen(-1), b = Seen(1), m = Seen(0);
        double latitude = (47 * Math.PI / 180) + (58.3 / 206264.806 / Math.Tan(47 * Math.PI / 180));
        (double pn, double pu) = (Math.Cos(latitude), Math.Sin(latitude));
        // Westward turn about the pole: velocity = -ω p × s.
        double ve = -Omega * ((pn * m.U) - (pu * m.N)), vn = -Omega * (pu * m.E), vu = Omega * (pn * m.E);
        double left = Math.Sqrt(Math.Pow(((b.E - a.E) / 2) - ve, 2) + Math.Pow(((b.N - a.N) / 2) - vn, 2)
            + Math.Pow(((b.U - a.U) / 2) - vu, 2));
        double expected = left * 206264.806 * Seconds;
        double found = Source(new ExposureBudget(input), "refraction").Arcsec;
        Assert.InRange(found, (expected * 0.94) - 0.01, (expected * 1.06) + 0.01);
    }

    // Overhead the rate about the refracted pole is the true sky's rate: nothing is gained or lost there.
    [Fact]
    public void A_rig_corrected_for_refraction_has_less_of_it_left_and_overhead_the_same()
    {
        Assert.InRange(Left(47, 0, "refracted-stars"), 0, 0.01);
        Assert.InRange(Left(47, 0, "stars"), 0, 0.01);
        foreach (double hourAngle in new[] { -5.0, -4, -2, 1, 3 })
        {
            double corrected = Left(20, hourAngle, "refracted-stars");
            double uncorrected = Left(20, hourAngle, "stars");
            Assert.True(corrected < uncorrected, $"{hourAngle} h: {corrected} beside {uncorrected}");
        }

        // On the meridian there is no drift in declination: the rate removes all of it.
        Assert.InRange(Left(0, 0, "refracted-stars"), 0, 0.002);
        Assert.InRange(Left(0, 0, "stars"), 0.5, 2);

        static double Left(double dec, double hourAngle, string follow)
        {
            // The profile's rate is made for standard air: 1010 hPa is the pressure at 27 m.
            var site = new SiteData("", 47, 10, 27);
            BudgetInput input = Input("fixed-rod-offset", 135, 4, Seconds, dec, hourAngle);
            input = input with
            {
                Site = site,
                Rig = input.Rig with { Rate = new RateData(follow, 0, dec, hourAngle), Site = site },
            };
            return Source(new ExposureBudget(input), "refraction").Arcsec;
        }
    }

    [Fact]
    public void Refraction_across_the_frame_is_small_beside_the_frame_s_middle_and_grows_low_down()
    {
        double high = Source(new ExposureBudget(_input with { Site = new SiteData("", 47, 10, 0), HourAngleHours = 0 }),
            "refraction-corner").Arcsec;
        double low = Source(new ExposureBudget(_input with { Site = new SiteData("", 47, 10, 0), HourAngleHours = 7 }),
            "refraction-corner").Arcsec;
        Assert.InRange(high, 0.01, 2);
        Assert.True(low > 2 * high, $"{low} beside {high}");
    }

    [Fact]
    public void What_was_measured_replaces_what_was_assumed()
    {
        var budget = new ExposureBudget(_input with { RateUncertaintyPpm = new SourcedValue(50, "measured") });
        Assert.DoesNotContain(budget.Sources, s => s.Key == "geometry");
        Assert.Equal(50e-6 * SkyArcsecPerSec * Math.Cos(Dec) * Seconds, Source(budget, "rate").Arcsec, 4);
    }

    [Fact]
    public void Blur_is_the_root_of_the_squares_and_grows_with_time()
    {
        var budget = new ExposureBudget(_input);
        double sum = Math.Sqrt(budget.Sources.Where(s => s.IsAdded).Sum(s => s.Arcsec * s.Arcsec));
        Assert.Equal(sum, budget.TrackingBlurArcsec, 9);
        Assert.Equal(budget.Sources.Where(s => s.IsAdded).Max(s => s.Arcsec), budget.Dominant.Arcsec);
        double before = 0;
        for (int t = 1; t < 2000; t += 7)
        {
            double blur = budget.TrackingBlur(t, []);
            Assert.True(blur > before, $"at {t} s");
            before = blur;
        }
    }

    [Theory]
    [InlineData(4)]
    [InlineData(9)]
    [InlineData(40)]
    public void The_longest_exposure_reaches_the_limit_and_one_percent_more_breaks_it(double arcsec)
    {
        var budget = new ExposureBudget(_input);
        string[][] mendings = [[], ["axis"], ["axis", "periodic"]];
        double before = 0;
        foreach (string[] mended in mendings)
        {
            double longest = budget.LongestExposureSec(arcsec, mended);
            Assert.Equal(arcsec, budget.TrackingBlur(longest, mended), 6);
            Assert.True(budget.TrackingBlur(longest * 1.01, mended) > arcsec);
            Assert.True(longest >= before);
            before = longest;
        }
    }

    [Fact]
    public void A_blur_that_is_never_reached_allows_the_whole_travel() =>
        Assert.Equal(_input.Drive.Design.TravelSec, new ExposureBudget(_input).LongestExposureSec(1e5, []));

    [Theory]
    [InlineData(0)]
    [InlineData(60)]
    [InlineData(-75)]
    public void Without_tracking_the_sky_runs_at_15_arcsec_a_second_times_cos_declination(double dec)
    {
        var budget = new ExposureBudget(
            Input("fixed-rod-offset", 135, 4, 10, dec, 0) with { Site = new SiteData("", dec, 0, 0) });
        Assert.Equal(9 / (SkyArcsecPerSec * Math.Cos(dec * Math.PI / 180)), budget.LongestUntrackedSec(9), 4);
    }

    [Fact]
    public void The_rule_of_500_counts_in_focal_length_of_the_small_film_format()
    {
        // 24 x 16 mm is the trade's crop of 1.5; 500 / (210 x 1.5) = 1.59 s (common practice, no source).
        BudgetInput input =
            _input with { FocalMm = 210, Camera = _input.Camera with { PixelUm = 4, WidthPx = 6000, HeightPx = 4000 } };
        var budget = new ExposureBudget(input);
        Assert.Equal(1.5, budget.CropFactor, 3);
        Assert.Equal(1.587, budget.RuleOfFiveHundredSec, 3);
    }

    [Fact]
    public void A_210_mm_lens_on_a_sensor_of_24_by_16_mm_frames_about_4_by_6_degrees()
    {
        // Common practice, no source.
        var field = FieldOfView.Of(210, 24, 16);
        Assert.InRange(field.LongSide.Degrees, 5.5, 7);
        Assert.InRange(field.ShortSide.Degrees, 3.5, 4.7);
    }

    // Removing the source that is largest at this exposure may gain nothing when a periodic error alone fills the
    // limit.
    [Fact]
    public void What_comes_first_is_what_lengthens_the_exposure_most()
    {
        foreach (double blur in new[] { 3.0, 9, 25, 60 })
        {
            foreach (double periodic in new[] { 0.5, 2, 10, 40 })
            {
                var budget = new ExposureBudget(_input with { PeriodicArcsec = new SourcedValue(periodic, "given") });
                double gained = budget.Improvements(blur, 1)[0].LongestSec;
                double most = budget.Sources.Where(s => s.IsAdded)
                    .Max(s => budget.LongestExposureSec(blur, [s.Key]));
                Assert.Equal(most, gained, 2);
            }
        }
    }

    // The corner of a camera that turns about a wrong axis: exact rotations of directions, no formula of first order.
    [Theory]
    [InlineData(41, 1.5)]
    [InlineData(-20, -2)]
    [InlineData(75, 4)]
    public void Axis_trail_is_that_of_the_worst_corner_by_exact_rotations(double dec, double hourAngle)
    {
        BudgetInput input = Input("fixed-rod-offset", 135, 4, Seconds, dec, hourAngle);
        double corner = input.CornerArcsec / 206264.806, worst = 0;
        double d = dec * Math.PI / 180, h = hourAngle * Math.PI / 12;
        for (int a = 0; a < 360; a += 10)
        {
            double e = 30 / 60.0 * Math.PI / 180;
            double[] axis = [Math.Sin(e) * Math.Cos(a * Math.PI / 180), Math.Sin(e) * Math.Sin(a * Math.PI / 180),
                Math.Cos(e)];
            for (int p = 0; p < 360; p += 15)
            {
                double pa = p * Math.PI / 180;
                double dc =
                    Math.Asin((Math.Sin(d) * Math.Cos(corner)) + (Math.Cos(d) * Math.Sin(corner) * Math.Cos(pa)));
                double hc = h + Math.Atan2(Math.Sin(pa) * Math.Sin(corner),
                    (Math.Cos(d) * Math.Cos(corner)) - (Math.Sin(d) * Math.Sin(corner) * Math.Cos(pa)));
                double[] star = [Math.Cos(dc) * Math.Cos(hc), Math.Cos(dc) * Math.Sin(hc), Math.Sin(dc)];
                double turn = Omega * Seconds;
                double[] sky = Turn(star, [0, 0, 1], turn), camera = Turn(star, axis, turn);
                worst = Math.Max(worst, Math.Sqrt(sky.Zip(camera, (x, y) => (x - y) * (x - y)).Sum()));
            }
        }

        double found = Source(new ExposureBudget(input), "axis").Arcsec;
        Assert.InRange(found / (worst * 206264.806), 0.98, 1.02);
    }

    // Rodrigues' rotation formula.
    private static double[] Turn(double[] v, double[] k, double rad)
    {
        (double sin, double cos) = Math.SinCos(rad);
        double dot = (v[0] * k[0]) + (v[1] * k[1]) + (v[2] * k[2]);
        double[] cross = [(k[1] * v[2]) - (k[2] * v[1]), (k[2] * v[0]) - (k[0] * v[2]), (k[0] * v[1]) - (k[1] * v[0])];
        return [.. v.Select((x, i) => (x * cos) + (cross[i] * sin) + (k[i] * dot * (1 - cos)))];
    }

    [Fact]
    public void The_bound_is_never_longer_than_the_typical_exposure_and_reaches_the_limit()
    {
        var budget = new ExposureBudget(_input);
        foreach (double blur in new[] { 2.0, 9, 30 })
        {
            double bound = budget.LongestBoundSec(blur);
            Assert.True(bound <= budget.LongestExposureSec(blur, []));
            Assert.Equal(blur, budget.BlurBound(bound), 6);
        }
    }

    // Added as vectors: not less than either part, not more than their sum.
    [Theory]
    [InlineData(41, 4)]
    [InlineData(-10, -3)]
    [InlineData(70, 6)]
    public void Refraction_at_the_worst_corner_lies_between_its_parts_and_their_sum(double dec, double hourAngle)
    {
        var budget = new ExposureBudget(Input("fixed-rod-offset", 135, 4, Seconds, dec, hourAngle));
        double all = Source(budget, "refraction-frame").Arcsec;
        double centre = Source(budget, "refraction").Arcsec;
        double across = Source(budget, "refraction-corner").Arcsec;
        Assert.InRange(all, centre, (centre + across) * 1.02);
    }

    internal static BudgetInput Input(string rig, double focalMm, double ratio, double seconds, double dec,
        double hourAngle)
    {
        RigDescription read = RigReader.ReadFile(Tool.Example(rig), out _);
        return BudgetInput.From(read, RigDrive.Compile(read, 0), read.Camera!, read.Site!, focalMm, ratio, seconds, dec,
            hourAngle);
    }

    private static BlurSource Source(ExposureBudget budget, string key) =>
        Assert.Single(budget.Sources, s => s.Key == key);
}
