// Several fields joined to one axis: common errors counted once, intervals that never widen, exact angles at the
// tripod, and contradictions that are told. Numbers only, no frames.
using Hourhinge.Calibration;
using Hourhinge.Calibration.Orientation;
using Hourhinge.Calibration.Stars;
using Hourhinge.Frames.Matching;
using Hourhinge.Frames.Reading;
using Hourhinge.Numerics;
using Hourhinge.Sky.Observing;
using Xunit.Abstractions;

namespace Hourhinge.Tests.Host.Calibration.Stars;

public sealed class AxisErrorTests(ITestOutputHelper output)
{
    private const double Degree = Math.PI / 180, Omega = 7.292115e-5;
    private static readonly DateTime _start = new(2025, 1, 31, 21, 0, 0, DateTimeKind.Utc);

    /// <summary>Whatever the second field's quality, frames and common errors: it never widens an interval.</summary>
    [Fact]
    public void A_second_field_never_widens_an_interval()
    {
        var random = new Random(3);
        for (int k = 0; k < 300; k++)
        {
            FieldAxis Field()
            {
                // Student's factor of few frames: up to 12.7 for one degree of freedom.
                double factor = 1.96 + (10.7 * Math.Pow(random.NextDouble(), 4));
                Estimate Of() => Value(random.NextDouble(), 0.02 + random.NextDouble(), factor);
                AxisShift Shift() => new(random.NextDouble() - 0.5, random.NextDouble() - 0.5);
                return new FieldAxis(Of(), Of(), (1.8 * random.NextDouble()) - 0.9, 3 * random.NextDouble())
                { OwnShifts = [Shift()], SharedShifts = [Shift(), Shift()] };
            }

            FieldAxis[] fields = [Field(), Field()];
            AxisError both = AxisError.Of(fields, 45 * Degree);
            foreach (AxisError one in fields.Select(f => AxisError.Of([f], 45 * Degree)))
            {
                Assert.InRange(both.HighArcmin.Half95, 0, one.HighArcmin.Half95 * (1 + 1e-9));
                Assert.InRange(both.WestArcmin.Half95, 0, one.WestArcmin.Half95 * (1 + 1e-9));
            }
        }
    }

    /// <summary>Two fields of one camera whose clock is wrong turn the axis by the same angle: no averaging.</summary>
    [Fact]
    public void A_common_error_does_not_average_out()
    {
        FieldAxis Field(double hourAngleDeg, bool common)
        {
            // The same shift on the sky in both fields: 0.3' up.
            double h = hourAngleDeg * Degree;
            AxisShift[] shift = [new(0.3 * Math.Cos(h), 0.3 * Math.Sin(h))];
            var axis = new FieldAxis(Value(0, 0.01, 1.96), Value(0, 0.01, 1.96), 0, h);
            return common ? axis with { SharedShifts = shift } : axis with { OwnShifts = shift };
        }

        double shared = AxisError.Of([Field(-40, true), Field(40, true)], 45 * Degree).HighArcmin.Sigma;
        double own = AxisError.Of([Field(-40, false), Field(40, false)], 45 * Degree).HighArcmin.Sigma;
        Assert.Equal(0.3, shared, 3);
        Assert.Equal(0.3 / Math.Sqrt(2), own, 3);
    }

    /// <summary>Rotations of vectors, apart from the estimator: altitude and turn of the base, also of a hinge that is
    /// degrees off.</summary>
    [Theory]
    [InlineData(45, 20, 30)]
    [InlineData(-35, -12, 25)]
    [InlineData(52, 180, -300)]
    public void The_axis_is_told_as_altitude_and_turn_of_the_base(double latitudeDeg, double highArcmin,
        double turnWestArcmin)
    {
        double latitude = Math.Abs(latitudeDeg) * Degree, arcmin = Degree / 60;
        double altitude = latitude + (highArcmin * arcmin), turn = turnWestArcmin * arcmin;
        // Axes: to the horizon under the pole, to the west of the observer who faces it, up.
        V At(double a, double t) => new(Math.Cos(a) * Math.Cos(t), Math.Cos(a) * Math.Sin(t), Math.Sin(a));
        V axis = At(altitude, turn), pole = At(latitude, 0), west = new(0, 1, 0), up = V.Cross(pole, west);
        double arc = Math.Atan2(Math.Sqrt(Math.Pow(V.Dot(axis, up), 2) + Math.Pow(V.Dot(axis, west), 2)),
            V.Dot(axis, pole)) / arcmin;
        double part = arc / Math.Sqrt(Math.Pow(V.Dot(axis, up), 2) + Math.Pow(V.Dot(axis, west), 2));
        // In the south the northern end is told: both components the other way.
        double side = Math.Sign(latitudeDeg), h = 0.4;
        double u = side * part * V.Dot(axis, up), w = side * part * V.Dot(axis, west);
        var field = new FieldAxis(Value((u * Math.Cos(h)) + (w * Math.Sin(h)), 0.1, 1.96),
            Value((u * Math.Sin(h)) - (w * Math.Cos(h)), 0.1, 1.96), 0, h);
        AxisError found = AxisError.Of([field], latitudeDeg * Degree);
        Assert.Equal(highArcmin, found.HighArcmin.Value, 6);
        Assert.Equal(turnWestArcmin, found.TurnWestArcmin.Value, 6);
        Assert.Equal(turnWestArcmin * Math.Cos(altitude), found.WestArcmin.Value, 6);
    }

    /// <summary>A camera that sags northwards by 60" an hour: one field takes it for 3.8' of axis, two fields
    /// contradict one another.</summary>
    [Theory]
    [InlineData(0)]
    [InlineData(60)]
    public void A_camera_that_bends_is_an_axis_error_to_one_field_and_a_contradiction_to_two(double arcsecPerHour)
    {
        CalibrationField east = Field(-40, 20, arcsecPerHour), west = Field(35, 30, arcsecPerHour);
        StarConditions setting = Setting(0.2);
        StarResult one = StarCalibration.Solve([east], setting)!, two = StarCalibration.Solve([east, west], setting)!;
        output.WriteLine($"one: {one.Axis} | two: {two.Axis}");
        Assert.Empty(one.Reasons);
        double high = one.Axis.HighArcmin.Value - 12, off9 = one.Axis.WestArcmin.Value + 9;
        double off = Math.Sqrt((high * high) + (off9 * off9));
        Assert.InRange(off, arcsecPerHour / 16.5, (arcsecPerHour / 15) + 0.4);
        Assert.Equal(arcsecPerHour > 0, two.Reasons.Any(r => r.Contains("the fields contradict one another",
            StringComparison.Ordinal)));
    }

    /// <summary>A field told 4 degrees from where it is, within 0.2 degrees as is said: a drive that is 1 % fast
    /// makes it 2.5' of axis. The other field contradicts.</summary>
    [Fact]
    public void A_field_that_is_not_where_it_was_told_contradicts_the_other()
    {
        StarConditions setting = Setting(0.2);
        CalibrationField one = Field(-40, 20, 0), two = Field(35, 30, 0);
        Assert.Empty(StarCalibration.Solve([one, two], setting)!.Reasons);
        StarResult wrong = StarCalibration.Solve(
            [one, two with { Declination = two.Declination + Angle.FromDegrees(4) }], setting)!;
        output.WriteLine($"{wrong.Axis}");
        Assert.Contains(wrong.Reasons, r => r.Contains("is not where it was said to be", StringComparison.Ordinal));
    }

    private static Estimate Value(double value, double sigma, double factor) => new(value, sigma, factor * sigma);

    private static StarConditions Setting(double pointingDeg) => new(Angle.FromDegrees(45), Air.None,
        new Estimate(20, 0, 0), 75, Angle.FromDegrees(pointingDeg));

    // Twenty frames of a drive that is 1 % fast, axis 12' high and 9' east, the camera sagging northwards.
    private static CalibrationField Field(double hourAngleDeg, double declinationDeg, double northArcsecPerHour)
    {
        const double Gap = 82;
        var truth = new TurningSky(declinationDeg, hourAngleDeg, seed: 7 + (int)hourAngleDeg, starCount: 1)
        {
            RateError = 0.01,
            AxisUpDeg = 0.2,
            AxisWestDeg = -0.15,
            PeriodicArcsec = 8,
            PeriodSeconds = 75,
        };
        // Stars seem to go the other way, south; north is a quarter turn from east, which is west turned about.
        double east = truth.WestAngle + Math.PI, perSec = northArcsecPerHour / 3600 * truth.Focal / 206264.806;
        AlignedFrame[] frames = [.. Enumerable.Range(0, 20).Select(i =>
        {
            double t = i * Gap;
            DriftSample s = truth.Sample(i, t, 20, 0.02, 4e-6, 0);
            return new AlignedFrame(new FrameInfo(s.Name, _start.AddSeconds(t - 10), 0.01, 20, null, null),
                new FieldMotion(s.ShiftXPx + (perSec * t * Math.Sin(east)), s.ShiftYPx - (perSec * t * Math.Cos(east)),
                    s.RotationRad, 1, 0.02, 4e-6, 200, 0.1), 0);
        })];
        FrameInfo first = frames[0].Info;
        var run = new RunAlignment(frames, [], first.MidUtc!.Value, first.StartUtc!.Value, 6000, 4000);
        var sky = new StoppedResult(new SkyOnSensor(truth.WestAngle, truth.Focal), Value(truth.Focal, 1, 1.96),
            Value(truth.WestAngle, 2e-5, 1.96), true, 100, 0, new CalibrationAssessment([]));
        return new CalibrationField(run, sky, Angle.FromDegrees(declinationDeg), Angle.FromDegrees(hourAngleDeg));
    }
}
