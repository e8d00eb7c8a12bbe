// The pieces of a night's plan: dark hours and their polar cases, tracks, runs, the year, frames and the tables.
using System.Globalization;
using Hourhinge.Numerics;
using Hourhinge.Sky.Bodies;
using Hourhinge.Sky.Observing;
using Hourhinge.Sky.Places;
using Hourhinge.Sky.Planning;
using Hourhinge.Sky.Time;
using Xunit.Abstractions;

namespace Hourhinge.Tests.Host.Sky;

public class PlanningTests(ITestOutputHelper output)
{
    [Theory]
    [InlineData("2026-06-21", SunCase.StaysAbove, SunCase.StaysAbove)]
    [InlineData("2026-12-21", SunCase.StaysBelow, SunCase.GoesBelow)]
    [InlineData("2026-03-21", SunCase.GoesBelow, SunCase.GoesBelow)]
    public void Beyond_the_polar_circle_day_and_night_may_not_end(string date, SunCase sunset, SunCase astronomical)
    {
        // At 70 degrees north the midwinter sun stays 3.4 degrees down at noon and reaches 43 degrees down at midnight.
        var night = DarkHours.Of(Site.FromDegrees(70, 25), DateOnly.Parse(date, CultureInfo.InvariantCulture));
        Assert.Equal(sunset, night.SunBelow(SunLevel.SunsetSunrise).Case);
        Assert.Equal(astronomical, night.SunBelow(SunLevel.Astronomical).Case);
        Assert.Equal(sunset == SunCase.StaysAbove, night.SunBelow(SunLevel.SunsetSunrise).Below is null);
        if (sunset == SunCase.StaysBelow)
        {
            Assert.Equal(24, night.SunBelow(SunLevel.SunsetSunrise).Below!.Value.Hours, 1e-6);
        }
    }

    [Fact]
    public void Twilights_nest_and_moonless_dark_lies_within_the_dark()
    {
        for (int day = 0; day < 365; day += 13)
        {
            var night = DarkHours.Of(Site.FromDegrees(47.5, 8.5), new DateOnly(2027, 1, 1).AddDays(day));
            TimeWindow[] levels =
                new[] { SunLevel.SunsetSunrise, SunLevel.Civil, SunLevel.Nautical, SunLevel.Astronomical }
                .Select(l => night.SunBelow(l).Below).Where(b => b is not null).Select(b => b!.Value).ToArray();
            for (int i = 1; i < levels.Length; i++)
            {
                Assert.True(levels[i].Start > levels[i - 1].Start && levels[i].End < levels[i - 1].End);
            }

            double moonHours = night.DarkWithoutMoon().Sum(w => w.Hours);
            Assert.InRange(moonHours, 0, (night.Dark()?.Hours ?? 0) + 1e-9);
            foreach (TimeWindow free in night.DarkWithoutMoon())
            {
                // No moonrise or moonset within, and the moon is down in the middle.
                Assert.DoesNotContain(night.MoonCrossings(), c =>
                    c.Time > free.Start.PlusMinutes(1) && free.End.PlusMinutes(-1) > c.Time);
                Assert.True(Moon.AltAz(free.Start.PlusHours(free.Hours / 2), night.Site).Altitude.Degrees < 0);
            }
        }
    }

    [Fact]
    public void Values_out_of_range_are_refused_by_name()
    {
        Assert.Contains("latitude", Refused(() => Site.FromDegrees(91, 0)), StringComparison.Ordinal);
        Assert.Contains("longitude", Refused(() => Site.FromDegrees(0, 181)), StringComparison.Ordinal);
        Assert.Contains("latitude", Refused(() => Site.FromDegrees(double.NaN, 0)), StringComparison.Ordinal);
        Assert.Contains("1972", Refused(() => Instant.FromUtc(DateTimeOffset.UnixEpoch)), StringComparison.Ordinal);
        Assert.Contains("0.9", Refused(() => Instant.FromUtc(
            new DateTimeOffset(2026, 1, 1, 0, 0, 0, TimeSpan.Zero), 1.5)), StringComparison.Ordinal);

        static string Refused(Action act) => Assert.Throws<ArgumentOutOfRangeException>(act).Message;
    }

    [Fact]
    public void A_target_is_above_exactly_where_its_altitude_says_so()
    {
        var site = Site.FromDegrees(47.5, 8.5);
        var night = DarkHours.Of(site, new DateOnly(2026, 11, 14));
        var track = new TargetTrack(Catalogue.FindDeepSky("M 42")!.Place, site, Air.Standard);
        var limit = Angle.FromDegrees(25);
        IReadOnlyList<TimeWindow> above = track.Above(limit, night.Span);
        Assert.Single(above);
        foreach (TrackPoint point in track.Through(night.Span, 7))
        {
            Assert.Equal(above[0].Contains(point.Time), point.Observed.Altitude >= limit);
        }

        // It crosses the meridian half-way through, at its greatest altitude.
        Instant transit = above[0].Start.PlusHours(above[0].Hours / 2);
        Assert.Equal(0, track.At(transit).Place.HourAngle.Degrees, 0.05);
        Assert.Equal(track.MaxAltitude(transit).Degrees, track.At(transit).Observed.Altitude.Degrees, 0.03);
        // Half-way up the air is twice as thick (Kasten and Young 1989: 1.994 at 30 degrees, from memory).
        Assert.Equal(1.994, Airmass.At(Angle.FromDegrees(30)), 0.001);
    }

    [Fact]
    public void Runs_fit_the_travel_and_the_window_and_never_overlap()
    {
        var start = Instant.FromUtc(new DateTimeOffset(2026, 11, 14, 18, 0, 0, TimeSpan.Zero));
        var plan = new RunPlan(TravelMinutes: 60, RewindMinutes: 8, ExposureSeconds: 120, GapSeconds: 5);
        var table = RunTimetable.Fill(new[] { new TimeWindow(start, start.PlusHours(5)) }, plan);
        // 28 frames of 120 s with 27 gaps of 5 s take 58 min 15 s; a run and its rewind 66 min 15 s; four of those
        // leave 35 min for 16 more frames.
        Assert.Equal("28 28 28 28 16", string.Join(' ', table.Runs.Select(r => r.Frames)));
        Assert.Equal(128 * 120 / 3600.0, table.ExposureHours, 9);
        Assert.Null(table.Runs[^1].RewindUntil);
        for (int i = 0; i < table.Runs.Count; i++)
        {
            Assert.True(table.Runs[i].End.MinutesSince(table.Runs[i].Start) <= 60);
            Assert.True(table.Runs[i].End <= start.PlusHours(5));
            if (i > 0)
            {
                Assert.Equal(8, table.Runs[i].Start.MinutesSince(table.Runs[i - 1].End), 6);
            }
        }

        ArgumentException refused = Assert.Throws<ArgumentException>(() =>
            RunTimetable.Fill(Array.Empty<TimeWindow>(), plan with { ExposureSeconds = 4000 }));
        Assert.Contains("4000 s", refused.Message, StringComparison.Ordinal);
    }

    [Theory]
    [InlineData(1, 2)]
    [InlineData(10, 20.75)]
    public void Gaps_are_between_the_frames_and_not_after_the_last(int frames, double minutes)
    {
        // n frames of 120 s have n - 1 gaps of 5 s between them: 10 frames take 1245 s.
        var start = Instant.FromUtc(new DateTimeOffset(2026, 11, 14, 18, 0, 0, TimeSpan.Zero));
        var plan = new RunPlan(TravelMinutes: minutes, RewindMinutes: 8, ExposureSeconds: 120, GapSeconds: 5);
        TrackingRun run = RunTimetable.Fill([new TimeWindow(start, start.PlusHours(1))], plan).Runs[0];
        Assert.Equal(frames, run.Frames);
        Assert.Equal(minutes, run.End.MinutesSince(run.Start), 6);
        Assert.Equal(frames - 1, plan.FramesIn(minutes - 0.01));
        // 21 frames of 60 s in 21 min; with gaps of 15 s 17 frames and 16 gaps.
        Assert.Equal(21, new RunPlan(60, 0, 60, 0).FramesIn(21));
        Assert.Equal(17, new RunPlan(60, 0, 60, 15).FramesIn(21));
    }

    [Fact]
    public void The_year_says_when_a_target_is_in_season_and_why_not()
    {
        var from = new DateOnly(2026, 1, 1);
        IReadOnlyList<WeekView> orion =
            YearView.Of(Catalogue.FindDeepSky("Orion Nebula")!.Place, Site.FromDegrees(47.5, 8.5), from,
            Angle.FromDegrees(25), Air.Standard);
        Assert.Equal(52, orion.Count);
        // Orion is a winter constellation in the north (common practice, no source).
        Assert.True(orion[0].UsefulHours > 4);
        Assert.Equal(Obstacle.UpOnlyInDaylight, orion[24].Obstacle);
        (int first, int count) = YearView.Season(orion);
        output.WriteLine($"Orion from 47.5 N: {count} weeks from {orion[first].Start:yyyy-MM-dd}");
        Assert.InRange(orion[first].Start.Month, 10, 11);
        Assert.InRange(count, 12, 24);

        IReadOnlyList<WeekView> high = YearView.Of(Catalogue.FindDeepSky("M13")!.Place, Site.FromDegrees(60, 10), from,
            Angle.FromDegrees(30), Air.Standard);
        Assert.Equal(Obstacle.NoDarkness, high[24].Obstacle);
        IReadOnlyList<WeekView> never =
            YearView.Of(Catalogue.FindDeepSky("Omega Centauri")!.Place, Site.FromDegrees(47.5, 8.5), from,
            Angle.FromDegrees(10), Air.Standard);
        Assert.All(never, w => Assert.Equal(Obstacle.NeverHighEnough, w.Obstacle));
        Assert.Equal((0, 0), YearView.Season(never));
        Assert.All(orion, w => Assert.True(w.MoonFreeHours <= w.UsefulHours + 1e-6));
        Assert.All(orion, w => Assert.True(w.UsefulHours <= w.DarkHours + 1e-6));
    }

    [Fact]
    public void A_210_mm_lens_on_a_crop_sensor_frames_four_by_six_degrees()
    {
        // Common practice, no source. A 1.5-crop sensor is 23.5 by 15.6 mm.
        var field = FieldOfView.Of(210, 15.6, 23.5);
        Assert.Equal(6, field.LongSide.Degrees, 0.5);
        Assert.Equal(4, field.ShortSide.Degrees, 0.5);
        Assert.Equal(3.83, field.ArcsecPerPixel(3.9), 0.01);
        Assert.Throws<ArgumentException>(() => FieldOfView.Of(0, 15, 23));
    }

    [Fact]
    public void Targets_are_fitted_into_a_frame_or_refused_honestly()
    {
        FramedTarget[] Of(params string[] names) => names.Select(n => Catalogue.FindDeepSky(n)!.Framed).ToArray();
        var field = FieldOfView.Of(210, 23.5, 15.6);
        FramePlan belt = Framing.Fit(Of("IC 434", "NGC 2024", "M42"), field);
        output.WriteLine($"belt and sword: margin {belt.Margin.Degrees:F2} deg, "
            + $"long side at {belt.LongSidePositionAngle.Degrees:F1}");
        Assert.True(belt.Fits);
        // Every target's edge lies inside the frame, laid out anew from the plan.
        foreach (FramedTarget target in Of("IC 434", "NGC 2024", "M42"))
        {
            (double east, double north) = TangentPlane.Project(target.Place, belt.Centre);
            Angle turn = belt.LongSidePositionAngle;
            double radius = target.Diameter.Radians / 2;
            Assert.True(Math.Abs((east * turn.Sin()) + (north * turn.Cos())) + radius <= (23.5 / 210 / 2) + 1e-6);
            Assert.True(Math.Abs((east * turn.Cos()) - (north * turn.Sin())) + radius <= (15.6 / 210 / 2) + 1e-6);
        }

        Assert.False(Framing.Fit(Of("M31", "M33"), field).Fits);
        // Two points on a line north to south want the long side north to south.
        FramedTarget[] pair =
            new[] { new FramedTarget(At(10, 40), Angle.Zero), new FramedTarget(At(10, 45), Angle.Zero) };
        FramePlan upright = Framing.Fit(pair, field);
        Assert.Equal(42.5, upright.Centre.Declination.Degrees, 0.05);
        Assert.True(upright.Fits);
        // The turn is free within the margin: the pair must stay inside whatever turn was chosen.
        Assert.True(Math.Abs(upright.LongSidePositionAngle.WrappedSigned().Degrees) < 40
            || upright.LongSidePositionAngle.Degrees > 140);
        Assert.Throws<ArgumentException>(() => Framing.Fit(Array.Empty<FramedTarget>(), field));
        Assert.Throws<ArgumentException>(() => Framing.Fit(
            new[] { new FramedTarget(At(0, 0), Angle.Zero), new FramedTarget(At(180, 0), Angle.Zero) }, field));
    }

    [Fact]
    public void The_tables_are_complete_and_plausible()
    {
        Assert.Equal(Enumerable.Range(1, 110).Select(n => $"M{n}"),
            Catalogue.DeepSky.Select(o => o.Id).Where(id => id.Length > 1 && id[0] == 'M' && char.IsDigit(id[1])));
        Assert.All(Catalogue.DeepSky, o =>
        {
            Assert.InRange(o.J2000.RightAscension.Degrees, 0, 360);
            Assert.InRange(o.J2000.Declination.Degrees, -90, 90);
            Assert.InRange(o.MajorAxis.Degrees, o.MinorAxis.Degrees, 26);
            Assert.Equal(3, o.Constellation.Length);
        });
        Assert.True(Catalogue.Stars.Count > 3000);
        Assert.Equal("Sirius", Catalogue.Stars[0].Name);
        Assert.True(Catalogue.Stars.Zip(Catalogue.Stars.Skip(1)).All(p => p.First.Magnitude <= p.Second.Magnitude));
        Assert.Equal(Catalogue.DeepSky.Count, Catalogue.DeepSky.Select(o => o.Id).Distinct().Count());
        // The Pleiades lie about Alcyone, the sword of Orion 4.5 degrees under the belt (from memory).
        Assert.True(Catalogue.FindDeepSky("Pleiades")!.J2000
            .SeparationFrom(Catalogue.FindStar("Alcyone")!.Place.J2000).Arcminutes < 10);
        Assert.Equal(4.2, Catalogue.FindDeepSky("m42")!.J2000
            .SeparationFrom(Catalogue.FindStar("epsilon Ori")!.Place.J2000).Degrees, 0.1);
        Assert.Null(Catalogue.FindDeepSky("galaxy"));
        Assert.Null(Catalogue.FindDeepSky(""));
        Assert.Null(Catalogue.FindStar(""));
    }

    private static Equatorial At(double ra, double dec) =>
        new Equatorial(Angle.FromDegrees(ra), Angle.FromDegrees(dec));
}
