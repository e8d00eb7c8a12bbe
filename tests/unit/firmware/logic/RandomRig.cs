// A random rig told twice: as commands for the controller's terminal, and as the doubles that a host reads from the
// same decimal texts. Only shared-math's geometry is common to both.

using System.Globalization;
using Hourhinge.SharedMath.Compile;
using Hourhinge.SharedMath.Geometry;
using Hourhinge.SharedMath.Profile;

namespace Hourhinge.Tests.Firmware.Logic;

internal sealed class RandomRig
{
    private static readonly string[] _threads =
        ["M5", "M6", "M8", "M8x1", "M4", "1/4-20", "8-32", "10-32", "12-28", "5/16-18", "1/4-28"];

    private static readonly string[] _forms = ["STR", "BENT", "FIX", "DSTR", "DFIX", "CSTR", "CFIX"];
    private static readonly string[] _rates = ["STAR", "SUN", "MOON", "REFR"];

    private readonly Random _random;
    private readonly HingeGeometry _hinge;
    private readonly bool _opens;
    private readonly double _shortest;
    private readonly double _longest;
    private readonly double _pitch;
    private readonly GearTrain _counts;
    private readonly double _rate;
    private readonly double _trimPpm;
    private readonly double _backOff;
    private readonly int _pullIn;
    private readonly PeriodicError[] _periodic;

    public RandomRig(Random random)
    {
        _random = random;
        int form = random.Next(7);
        Commands.Add("RIG:FORM " + _forms[form]);
        _opens = random.Next(4) > 0;
        Commands.Add("RIG:DIR " + (_opens ? "OPENS" : "CLOSES"));
        HingeGeometry rod = form is 2 or 4 or 6
            ? new FixedRodHinge(Number("RIG:RAD", 150, 400, 3), Number("RIG:OFFS", -20, 20, 2),
                Number("RIG:TIP", 0, 6, 2))
            : new SwivelledRodHinge(
                Number("RIG:ARM:NUT", 150, 400, 4),
                Number("RIG:ARM:ANCH", 150, 400, 4),
                form == 1 ? Number("RIG:BEND", 200, 500, 6) : 0);
        _hinge = form < 3
            ? rod
            : new DoubleArmHinge(
                rod, form >= 5, Number("RIG:CONT:ARM", 150, 250, 4), Number("RIG:HING:DIST", -110, -40, 3),
                Number("RIG:HING:HEIG", -8, 8, 2), Number("RIG:CONT:OFFS", -8, 8, 2));
        double from = _hinge.RodLengthMm(_hinge.MinAngleRad);
        double to = _hinge.RodLengthMm(_hinge.MaxAngleRad);
        double reach = Math.Min(to - from, 150);
        _shortest = Number("RIG:ROD:SHOR", from + (0.05 * reach), from + (0.3 * reach), 2);
        _longest = Number("RIG:ROD:LONG", _shortest + (0.1 * reach), from + reach, 2);
        string thread = _threads[random.Next(_threads.Length)];
        Commands.Add("RIG:THR \"" + thread + "\"");
        _pitch = ThreadTable.PitchMm(thread);
        if (random.Next(3) == 0)
        {
            _pitch = Number("RIG:PITC", 0.6, 1.4, 6);
        }

        _counts = Gear();
        _rate = Rate();
        _trimPpm = Number("RIG:CLOC", -200, 200, 3);
        _backOff = Number("RIG:SWIT:BACK", 0.1, 2, 3);
        Commands.Add("RIG:MOT:APPR 20");
        _pullIn = random.Next(200, 20000);
        Commands.Add("RIG:MOT:PULL " + _pullIn);
        _periodic = Periodic();
    }

    public List<string> Commands { get; } = [];

    /// <summary>The host's way: doubles and ProfileCompiler.</summary>
    public DriveProfile? CompileOnHost(out DriveDesign? design)
    {
        double shortest = _hinge.AngleRad(_shortest);
        double longest = _hinge.AngleRad(_longest);
        design = new DriveDesign(
            _hinge, _opens ? shortest : longest, _opens ? longest : shortest, _rate, _pitch, _counts)
        {
            Periodic = _periodic,
        };
        double travel = design.TravelSec;
        DriveDesign d = design;
        if (Enumerable.Range(0, 101).Max(i => d.CountsPerSecAt(travel * i / 100)) > _pullIn)
        {
            return null;
        }

        var profile = new DriveProfile
        {
            PullInCountsPerSec = _pullIn,
            RewindCountsPerSec = 1600,
            RampCountsPerSec2 = 6400,
            ApproachCountsPerSec = 20,
            Flags = _opens ? 0 : DriveProfile.HingeCloses,
            BackOffCounts = (int)Math.Clamp(Math.Round(_backOff * (_counts.Ratio / _pitch)), 1, 1000000),
            ClockTrimPpb = (int)Math.Round(_trimPpm * 1000),
        };
        return new ProfileCompiler(design).Compile(profile) && ProfileSafety.Check(profile) == null ? profile : null;
    }

    // A value as the maker writes it, and as a host parses it.
    private double Number(string header, double least, double most, int decimals)
    {
        string text =
            (least + ((most - least) * _random.NextDouble())).ToString("F" + decimals, CultureInfo.InvariantCulture);
        Commands.Add(header + " " + text);
        return double.Parse(text, CultureInfo.InvariantCulture);
    }

    private GearTrain Gear()
    {
        var train = new GearTrain(1, 1);
        var pairs = new List<string>();
        for (int i = _random.Next(1, 4); i > 0; i--)
        {
            int driven = _random.Next(20, 60);
            int driver = _random.Next(9, 30);
            pairs.Add(driven + "," + driver);
            train = train.WithPair(driven, driver)!;
        }

        int steps = _random.Next(2) == 0 ? 200 : 32;
        int micro = 1 << _random.Next(6);
        Commands.Add("RIG:GEAR " + string.Join(",", pairs));
        Commands.Add($"RIG:MOT:STEP {steps};MICR {micro}");
        return train.WithPair(steps, 1)!.WithPair(micro, 1)!;
    }

    private double Rate()
    {
        int follow = _random.Next(4);
        Commands.Add("RIG:RATE " + _rates[follow]);
        double latitude = Number("RIG:RATE:LAT", 30, 60, 4);
        double declination = Number("RIG:RATE:DECL", -10, 70, 3);
        double hour = Number("RIG:RATE:HOUR", -3, 3, 3);
        double rate = follow switch
        {
            0 => SkyRate.SiderealRadPerSec,
            1 => SkyRate.SolarRadPerSec,
            2 => SkyRate.LunarRadPerSec,
            _ => SkyRate.SiderealRadPerSec * SkyRate.RefractionRateFactor(
                AngleUnits.FromDeg(latitude), AngleUnits.FromDeg(declination), AngleUnits.FromDeg(hour * 15)),
        };
        return rate * (1 + (Number("RIG:RATE:CORR", -500, 500, 3) * 1e-6));
    }

    private PeriodicError[] Periodic()
    {
        if (_random.Next(2) == 0)
        {
            Commands.Add("RIG:PER 1,1,0,0");
            return [];
        }

        double period = Math.Round(0.5 + (2 * _random.NextDouble()), 3);
        double amplitudeUm = Math.Round(15 * _random.NextDouble(), 2) + 0.01;
        double phase = Math.Round(360 * _random.NextDouble(), 1);
        Commands.Add("RIG:PER 1," + SiteRigs.Text(period) + "," + SiteRigs.Text(amplitudeUm) + ","
            + SiteRigs.Text(phase));
        return [new PeriodicError(period, double.Parse(SiteRigs.Text(amplitudeUm), CultureInfo.InvariantCulture) / 1000
            / _pitch, AngleUnits.FromDeg(phase))];
    }
}
