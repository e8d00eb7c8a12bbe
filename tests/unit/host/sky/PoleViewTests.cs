// Pole stars on the clock face against ERFA: 500 epochs of 2020-2040, both hemispheres, with the site's air. Source of
// every value of pole.csv: ERFA (see make_pole.py).
using Hourhinge.Numerics;
using Hourhinge.Sky.Bodies;
using Hourhinge.Sky.Observing;
using Xunit.Abstractions;

namespace Hourhinge.Tests.Host.Sky;

public class PoleViewTests(ITestOutputHelper output)
{
    [Fact]
    public void The_clock_position_agrees_with_ERFA_within_a_fifth_of_a_degree()
    {
        IReadOnlyList<ReferenceRow> rows = ReferenceTable.Read("pole.csv");
        Assert.Equal(500, rows.Count);
        Assert.Equal(250, rows.Count(r => r.Site().IsSouthern));
        var worst = new WorstDifference(output);
        foreach (ReferenceRow row in rows)
        {
            PoleStar star = PoleStar.All.First(s => s.Designation == row.Text("star"));
            var air = new Air(row.Number("pressure_hpa"), row.Number("temperature_c"));
            PoleSighting seen = PoleView.Of(star.Place, row.Time(), row.Site(), air);
            string side = row.Site().IsSouthern ? "south" : "north";
            worst.Record($"clock, {side}", (seen.Clock - row.Degrees("clock_deg")).WrappedSigned().Degrees);
            worst.Record("distance", seen.Distance.Arcminutes - row.Number("distance_arcmin"));
            PoleStarPosition still = PoleReference.PositionOf(star, row.Time(), row.Site());
            worst.Record("clock without air",
                (still.ClockAngle - row.Degrees("clock_without_air_deg")).WrappedSigned().Degrees);
        }

        worst.AssertWithin("clock, north", 0.2, "deg");
        worst.AssertWithin("clock, south", 0.2, "deg");
        worst.AssertWithin("distance", 0.2, "arcmin");
        worst.AssertWithin("clock without air", 0.05, "deg");
    }

    [Theory]
    [InlineData(0, "12:00")]
    [InlineData(90, "3:00")]
    [InlineData(135, "4:30")]
    [InlineData(359.9, "12:00")]
    [InlineData(341.3, "11:25")]
    public void An_hour_hand_points_at_the_star(double clockDeg, string hand) =>
        Assert.Equal(hand, new PoleSighting(Angle.FromDegrees(clockDeg), Angle.Zero).HandText());

    // Half a degree drags the worst placed stars by 7.85 arcsec a minute: 0.5° · 0.2625 arcsec/min for each arcminute.
    [Fact]
    public void The_worst_drift_is_the_offset_times_the_Earths_rotation() =>
        Assert.Equal(30 * 60 * 7.292115e-5 * 60,
            PoleView.WorstDriftArcsecPerMinute(Angle.FromArcminutes(30)), 3);
}
