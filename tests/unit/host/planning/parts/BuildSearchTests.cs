using Hourhinge.Planning.Parts;
using Hourhinge.Rig;
using Hourhinge.SharedMath.Geometry;
using Xunit.Abstractions;

namespace Hourhinge.Tests.Host.Planning.Parts;

/// <summary>The search against brute force, hand calculations and random boxes. HOURHINGE_DESIGN sets the number of
/// random boxes.</summary>
public class BuildSearchTests(ITestOutputHelper output)
{
    private static readonly int _boxes =
        int.TryParse(Environment.GetEnvironmentVariable("HOURHINGE_DESIGN"), out int boxes) ? boxes : 25;

    [Theory]
    [InlineData("dotterel")]
    [InlineData("wheatear")]
    [InlineData("pipit")]
    [InlineData("sandpiper")]
    [InlineData("ouzel")]
    public void The_best_is_that_of_brute_force(string name)
    {
        PartsBox box = PartsReader.Read(name, Boxes.Text(name));
        box = box with { Wheels = [.. box.Wheels.Take(5)] };
        SearchResult result = Search(box);
        (BuildFigures? best, long count) = BruteForce(box);
        Assert.NotNull(best);
        output.WriteLine($"{name}: {count} builds, cost {best.Cost:0.0000}; {result.Combinations} combinations");
        Assert.Equal(best.Cost, result.Best[0].Figures.Cost, 12);
        Assert.Equal(best.Values, result.Best[0].Figures.Values);
        Assert.Equal(result.Best.OrderBy(b => b.Figures.Cost), result.Best);
        Assert.All(result.Best.Skip(1), b => Assert.Contains(" against ",
            BuildReasons.NotFirst(result.Best[0].Figures, b.Figures), StringComparison.Ordinal));
    }

    [Fact]
    public void Random_boxes_get_sound_rigs_or_one_sentence()
    {
        int sound = 0;
        for (int seed = 0; seed < _boxes; seed++)
        {
            PartsBox box = PartsReader.Read($"box {seed}", Boxes.Random(seed));
            SearchResult result = Search(box);
            foreach (RankedBuild build in result.Best)
            {
                RigDescription rig = RigReader.Read("design", build.RigText);
                double minutes = RigDrive.Compile(rig, 0).Design.TravelSec / 60;
                Assert.True(minutes >= box.Wanted.TravelMin - 0.01, $"box {seed}: {minutes} min");
                Assert.Equal(build.Option.CountsPerNutTurn!.Ratio,
                    rig.MotorTurnsPerNutTurn.Ratio * rig.Motor.FullSteps * rig.Motor.Microsteps, 1e-9);
            }

            if (result.Best.Count == 0)
            {
                string sentence = BuildReasons.Lacking(box, result);
                Assert.Matches("lacks .*factor of [0-9.]+|No hinge fits|No combination compiles", sentence);
                output.WriteLine($"box {seed}: {sentence}");
            }

            sound += result.Best.Count > 0 ? 1 : 0;
        }

        output.WriteLine($"{sound} of {_boxes} boxes have a build");
        Assert.InRange(sound, _boxes / 10, _boxes - 1);
    }

    // 1.5 kg at 80 mm on an arm of 246 mm: F = 1.5·9.80665·80/246 = 4.784 N. M6: d₂ = 5.3505 mm, lead angle 3.405°,
    // friction angle of the flanks 9.826°: 4.784·2.6752·tan 13.231° = 3.009 N·mm; the face at 4.05 mm: 4.784·0.15·4.05
    // = 2.906 N·mm. Together 5.915 N·mm.
    [Fact]
    public void Torque_at_the_nut_is_that_of_the_hand_calculation()
    {
        double force = new CameraLoad(4, 6000, 4000, 85, 1.5, 80).MomentNmm / 246;
        Assert.Equal(4.784, force, 3);
        Assert.Equal(5.3505, ScrewStatics.PitchDiameterMm(6, 1), 4); // ISO 724: 5.350
        Assert.Equal(5.915, ScrewStatics.NutTorqueNmm(force, 6, 1), 2e-3);
        Assert.Equal(6.35, ScrewStatics.MajorDiameterMm("1/4-20"), 9);
        Assert.Equal(4.826, ScrewStatics.MajorDiameterMm("#10-32"), 9); // ASME B1.1: 0.190 in
        Assert.Equal(8, ScrewStatics.MajorDiameterMm("M8x1"), 9);
    }

    // A bank of 10 000 mAh counted at 3.7 V gives 10000·3.7/5·0.8 = 5920 mAh at 5 V; 210 + 70 mA: 21.14 h.
    [Fact]
    public void Hours_of_the_pack_are_those_of_the_hand_calculation() =>
        Assert.Equal(21.14, new PackPart(5, 10000, 3.7, 70).HoursAt(210 + 70), 0.005);

    // f = 10/400; at 20 N·mm: n(5 V) = 6·(1.025 − 0.025 − 0.1) = 5.4 turns a minute; for 3 turns a minute
    // 5/1.025·(0.5 + 0.025 + 0.1) = 3.0488 V; the motor draws 10 + 390·0.1 = 49 mA, for 3.0488/5 of the time: 29.88 mA.
    [Fact]
    public void A_DC_motor_is_that_of_the_hand_calculation()
    {
        DcPart motor = new("", [], 0, 5, 6, 200, 10, 400);
        Assert.Equal(5.4, DcStatics.Rpm(motor, 5, 20), 9);
        Assert.Equal(6, DcStatics.Rpm(motor, 5, 0), 9);
        Assert.Equal(0, DcStatics.Rpm(motor, 5, 200), 9);
        Assert.Equal(3.0488, DcStatics.Volts(motor, 3, 20), 4);
        Assert.Equal(29.88, DcStatics.SupplyMa(motor, 5, 3, 20), 0.005);
    }

    [Fact]
    public void A_box_that_cannot_do_it_says_by_how_much()
    {
        string text = Boxes.Text("wheatear").Replace("holding_torque_mnm = 260", "holding_torque_mnm = 0.1",
            StringComparison.Ordinal);
        PartsBox box = PartsReader.Read("weak", text);
        SearchResult result = Search(box);
        Assert.True(result.Best.Count == 0, "a build was found");
        Assert.Contains("times the torque", BuildReasons.Lacking(box, result), StringComparison.Ordinal);
    }

    [Theory]
    [InlineData("lens_mm = 135", "lens_mm = 2", "camera.lens_mm = 2: must be 4 to 3000 mm.")]
    [InlineData("lens_mm = 135", "", "camera.lens_mm is missing: 4 to 3000 mm.")]
    [InlineData("kind = \"stepper\"", "kind = \"steam\"", "motor.kind = \"steam\": must be one of")]
    [InlineData("supply_ma = 210", "supply_ma = 210\nstall_ma = 3", "motor.stall_ma = 3: this key does not belong")]
    [InlineData("supply_ma = 210", "supply_ma = 210\ncolour = 3", "motor.colour = 3: this key is unknown")]
    [InlineData("thread = \"M8\"", "pitch_mm = 1", "rod.diameter_mm: is missing")]
    [InlineData("thread = \"M8\"", "pitch_mm = 4\ndiameter_mm = 6", "rod.pitch_mm = 4: a pitch of 4 mm does not fit")]
    [InlineData("thread = \"M8\"", "thread = \"M8.8\"", "rod.thread = \"M8.8\": no such thread")]
    [InlineData("teeth = [12,", "teeth = [12.5,", "wheels.teeth = [12.5, 16, 20, 20, 36, 48, 60]: must be up to 16")]
    [InlineData("full_steps = 200", "full_steps = 200.5", "motor.full_steps = 200.5: must be a whole number, 4 to")]
    [InlineData("name = \"Wheatear\"", "name = \"\"", "name = \"\": must be 1 to 31 printable")]
    [InlineData("[boards]", "[planks]", "table [planks] is unknown")]
    public void A_wrong_file_is_named_with_value_and_range(string from, string to, string says)
    {
        string text = Boxes.Text("wheatear");
        Assert.Contains(from, text, StringComparison.Ordinal);
        RigFileException error = Assert.Throws<RigFileException>(
            () => PartsReader.Read("box.toml", text.Replace(from, to, StringComparison.Ordinal)));
        Assert.Contains(says, error.Message, StringComparison.Ordinal);
        Assert.StartsWith("box.toml", error.Message, StringComparison.Ordinal);
    }

    private static SearchResult Search(PartsBox box) => BuildSearch.Run(box, (_, _) => { }, CancellationToken.None);

    // Every ordered choice of wheels, written out; the legal one with the least cost.
    private static (BuildFigures? Best, long Count) BruteForce(PartsBox box)
    {
        var judge = new BuildJudge(box);
        BuildFigures? best = null;
        long count = 0;
        int n = box.Wheels.Count;
        void Try(HingeOption hinge, MotorPart motor, GearTrain train, int pairs)
        {
            foreach (int microsteps in motor is StepperPart s ? s.Microsteps : [1])
            {
                BuildFigures f = judge.Judge(hinge, motor, train.Ratio, pairs, microsteps);
                count++;
                if (f.Lack == 0 && (best == null || f.Cost < best.Cost))
                {
                    best = f;
                }
            }
        }

        foreach (HingeOption hinge in HingeOption.All(box))
        {
            foreach (MotorPart motor in box.Motors)
            {
                Try(hinge, motor, new GearTrain(1, 1), 0);
                for (int i = 0; i < n * n * n * n; i++)
                {
                    int[] at = [i % n, i / n % n, i / n / n % n, i / n / n / n];
                    if (at.Distinct().Count() == 4)
                    {
                        int[] w = [.. at.Select(k => box.Wheels[k])];
                        Try(hinge, motor, new GearTrain(w[0], w[1]), 1);
                        Try(hinge, motor, new GearTrain((long)w[0] * w[2], (long)w[1] * w[3]), 2);
                    }
                }
            }
        }

        return (best, count);
    }
}
