// Rig file to RigDescription. Keys, ranges and defaults: RigKeys.cs. Here: what belongs together.

using System.Text;
using Hourhinge.SharedMath.Compile;
using Hourhinge.SharedMath.Geometry;
using Hourhinge.SharedMath.Profile;
using Hourhinge.SharedMath.Rig;

namespace Hourhinge.Rig;

/// <summary>Reads rig files. Everything wrong is a <see cref="RigFileException"/> that names key, value, range and
/// place.</summary>
public static class RigReader
{
    /// <summary>A rig file rides along on the controller, which keeps this many bytes.</summary>
    public const int MaxFileBytes = 4096;

    // Eight hours of sky. Beyond it the rod lies along the boards and hardly turns them.
    private const double MaxOpeningDeg = 120;

    /// <summary>Reads a file; also gives its bytes, whose CRC-32 ties a profile to it.</summary>
    public static RigDescription ReadFile(string path, out byte[] bytes)
    {
        bytes = BoundedFile.Read(path, MaxFileBytes, out string problem)
            ?? throw new RigFileException($"{path}: cannot read the rig file: {problem}.");
        string text;
        try
        {
            text = new UTF8Encoding(false, true).GetString(bytes);
        }
        catch (ArgumentException)
        {
            throw new RigFileException($"{path}: not TOML: the file is not UTF-8 text.");
        }

        return Read(path, text);
    }

    /// <summary>Reads the text of a rig file; <paramref name="file"/> is its name for error messages.</summary>
    public static RigDescription Read(string file, string text)
    {
        Func<string, IReadOnlyList<TomlSection>> tables = TomlSection.Parse(file, text, RigKeys.All);
        TomlSection One(string name) => tables(name)[0];

        TomlSection top = One("");
        string name = top.ReadText("name");
        if (name.Length is 0 or > ProfileCodec.MaxNameLength || name.Any(c => c is < ' ' or > '~' or '"'))
        {
            throw top.ErrorAt("name", "must be 1 to 31 printable ASCII characters without quotes");
        }

        top.RejectUnread();
        HingeGeometry hinge = ReadHinge(One("hinge"), out bool opens);
        RodData rod = ReadRod(One("rod"), hinge);
        GearTrain gear = ReadGear(One("gear"), One("motor"), out GearData wheels);
        MotorData motor = MotorReader.Read(One("motor"), gear);
        SiteData? site = ReadSite(One("site"));
        return new RigDescription(
            name,
            hinge,
            opens,
            rod,
            gear,
            motor,
            ReadSwitches(One("switches")),
            ReadRate(One("rate"), site),
            ReadClock(One("clock")),
            ReadAllPeriodic(tables("periodic[]"), rod),
            ReadCamera(One("camera")),
            site,
            ReadCalibration(One("calibration")))
        { Gear = wheels, Pack = ReadPack(One("pack")), Lenses = [.. tables("lens[]").Select(ReadLens)] };
    }

    private static HingeGeometry ReadHinge(TomlSection t, out bool opens)
    {
        string form = t.ReadText("form");
        opens = t.ReadText("motion") == "opens";
        var numbers = new RigParameters();
        void Read(int index) =>
            numbers.Set(index, t.ReadNumber(RigParameters.KeyOf(index).Key["hinge.".Length..]));

        long kind = RigParameters.KeyOf(RigParameters.Form).Words.IndexOf(form);
        numbers.Values[RigParameters.Form] = kind;
        if (RigHinges.HasFixedRod(kind))
        {
            Read(RigParameters.Radius);
            Read(RigParameters.SurfaceOffset);
            Read(RigParameters.TipRadius);
        }
        else
        {
            Read(RigParameters.NutArm);
            Read(RigParameters.AnchorArm);
            if (kind == RigParameters.BentRod)
            {
                Read(RigParameters.BendRadius);
            }
        }

        if (RigHinges.HasSecondArm(kind))
        {
            Read(RigParameters.ContactArm);
            Read(RigParameters.HingeDistance);
            Read(RigParameters.HingeHeight);
            Read(RigParameters.ContactOffset);
        }

        if (RigHinges.CheckFixedRod(numbers) is { } error)
        {
            throw t.ErrorAt("surface_offset_mm", error);
        }

        if (RigHinges.CheckSecondArm(numbers) is { } contact)
        {
            throw t.ErrorAt("contact_arm_mm", contact);
        }

        t.RejectUnread();
        return RigHinges.Build(numbers);
    }

    private static RodData ReadRod(TomlSection t, HingeGeometry hinge)
    {
        string thread = t.ReadText("thread");
        double pitch = t.Has("pitch_mm") ? t.ReadNumber("pitch_mm") : ThreadTable.PitchMm(thread);
        if (pitch == 0)
        {
            throw thread.Length == 0
                ? t.ErrorAt("thread",
                    "is missing: give a thread such as \"M6\" or \"1/4-20\", or a measured pitch_mm of "
                    + RigKeys.Get("rod", "pitch_mm").Allowed())
                : t.ErrorAt("thread",
                    $"no such thread in ISO 261 or ASME B1.1; known are {ThreadTable.KnownDesignations()}; or give "
                    + "a measured "
                    + "pitch_mm");
        }

        double shortest = t.ReadNumber("shortest_mm");
        double longest = t.ReadNumber("longest_mm");
        if (longest - shortest < RigCompiler.MinTravelMm)
        {
            throw t.ErrorAt("longest_mm",
                $"must be at least {RigCompiler.MinTravelMm} mm more than rod.shortest_mm = {shortest}");
        }

        foreach ((string key, double length) in new[] { ("shortest_mm", shortest), ("longest_mm", longest) })
        {
            if (double.IsNaN(hinge.AngleRad(length)))
            {
                throw t.ErrorAt(key, RigCompiler.RodRange(hinge));
            }

            if (hinge.AngleRad(length) > AngleUnits.FromDeg(MaxOpeningDeg))
            {
                throw t.ErrorAt(key, $"opens the hinge to {AngleUnits.ToDeg(hinge.AngleRad(length)):0}°; up to "
                    + $"{MaxOpeningDeg}°, a length of {hinge.RodLengthMm(AngleUnits.FromDeg(MaxOpeningDeg)):0.0} "
                    + "mm, can "
                    + "be driven");
            }
        }

        t.RejectUnread();
        return new RodData(thread, pitch, shortest, longest);
    }

    private static GearTrain ReadGear(TomlSection gear, TomlSection motor, out GearData wheels)
    {
        var train = new GearTrain(1, 1);
        List<int[]>[] lists = [[], []];
        foreach ((TomlSection t, string key) in new[] { (gear, "pairs"), (motor, "gearbox") })
        {
            foreach (double[] pair in t.ReadPairs(key))
            {
                if (pair.Any(p => p != Math.Floor(p)))
                {
                    throw t.ErrorAt(key,
                        $"tooth counts must be whole numbers, {RigKeys.Get("gear", "pairs").Allowed()}");
                }

                train = train.WithPair((int)pair[0], (int)pair[1])
                    ?? throw t.ErrorAt(key, "the gear ratio as a fraction has become too large (beyond 2^40)");
                lists[t == gear ? 0 : 1].Add([(int)pair[0], (int)pair[1]]);
            }
        }

        wheels = new GearData(lists[0], lists[1], gear.ReadNumber("correction_ppm"));
        (int numerator, int denominator) = wheels.CorrectionFraction();
        gear.RejectUnread();
        return train.WithPair(numerator, denominator)
            ?? throw gear.ErrorAt("correction_ppm", "the gear ratio as a fraction has become too large (beyond 2^40)");
    }

    private static SwitchData ReadSwitches(TomlSection t)
    {
        var switches = new SwitchData(t.ReadFlag("home"), t.ReadFlag("end"), t.ReadNumber("back_off_mm"));
        t.RejectUnread();
        return switches;
    }

    private static RateData ReadRate(TomlSection t, SiteData? site)
    {
        string follow = t.ReadText("follow");
        double? declination = null;
        double? hourAngle = null;
        if (follow == "refracted-stars")
        {
            declination = t.ReadNumber("declination_deg");
            hourAngle = t.ReadNumber("hour_angle_h");
            if (site == null)
            {
                throw t.ErrorAt("follow", "needs the table [site] with latitude_deg, "
                    + RigKeys.Get("site", "latitude_deg").Allowed());
            }

            double altitude = AngleUnits.ToDeg(Math.Asin(SkyRate.SinAltitude(AngleUnits.FromDeg(site.LatitudeDeg),
                AngleUnits.FromDeg(declination.Value), AngleUnits.FromDeg(15 * hourAngle.Value))));
            if (altitude < 0)
            {
                throw t.ErrorAt("declination_deg", $"at hour_angle_h = {hourAngle:0.###} and site.latitude_deg = "
                    + $"{site.LatitudeDeg:0.###} the target stands at {altitude:0.0}°; refracted stars are above the "
                    + "horizon");
            }
        }

        var rate = new RateData(follow, t.ReadNumber("correction_ppm"), declination, hourAngle)
        {
            Change = (t.ReadNumber("slope_ppm_per_hour"), t.ReadNumber("curve_ppm_per_hour2"),
                t.ReadNumber("hold_min")),
        };
        t.RejectUnread();
        return rate;
    }

    private static double ReadClock(TomlSection t)
    {
        double trim = t.ReadNumber("trim_ppm");
        t.RejectUnread();
        return trim;
    }

    private static List<PeriodicData> ReadAllPeriodic(IReadOnlyList<TomlSection> tables, RodData rod) =>
        tables.Count <= RigParameters.MaxPeriodic
            ? [.. tables.Select(t => ReadPeriodic(t, rod))]
            : throw tables[RigParameters.MaxPeriodic].ErrorAt("period_nut_turns",
                $"there may be at most {RigParameters.MaxPeriodic} tables [[periodic]]");

    private static PeriodicData ReadPeriodic(TomlSection t, RodData rod)
    {
        double period = t.ReadNumber("period_nut_turns");
        double max = Math.Min(
            RigKeys.Get("periodic[]", "amplitude_um").Max, RigCompiler.MaxAmplitudeUm(period, rod.PitchMm));
        var term = new PeriodicData(
            period,
            t.ReadNumber("amplitude_um", Math.Floor(max * 1000) / 1000),
            t.ReadNumber("phase_deg"));
        t.RejectUnread();
        return term;
    }

    private static LensData ReadLens(TomlSection t)
    {
        var lens = new LensData(
            t.ReadNumber("marked_mm"), t.ReadNumber("focal_length_mm"), t.ReadNumber("k1"), t.ReadNumber("k2"))
        {
            SigmaMm = t.ReadNumber("sigma_mm"),
            Measured = t.ReadText("measured"),
        };
        t.RejectUnread();
        return lens;
    }

    private static MeasuredPack? ReadPack(TomlSection t)
    {
        if (!t.IsPresent)
        {
            return null;
        }

        double volts = t.ReadNumber("volts");
        var pack = new MeasuredPack(
            volts, t.ReadNumber("mah"), t.ReadNumber("label_volts", absent: volts), t.ReadNumber("current_ma"));
        t.RejectUnread();
        return pack;
    }

    private static CameraData? ReadCamera(TomlSection t)
    {
        if (!t.IsPresent)
        {
            return null;
        }

        double[] lenses = t.ReadNumbers("lenses_mm");
        var camera = new CameraData(
            t.ReadNumber("pixel_um"),
            t.ReadInteger("width_px"),
            t.ReadInteger("height_px"),
            lenses.Length > 0
                ? lenses
                : throw t.ErrorAt("lenses_mm",
                    "give at least one focal length, " + RigKeys.Get("camera", "lenses_mm").Allowed()));
        t.RejectUnread();
        return camera;
    }

    private static SiteData? ReadSite(TomlSection t)
    {
        if (!t.IsPresent)
        {
            return null;
        }

        var site = new SiteData(
            t.ReadText("name"),
            t.ReadNumber("latitude_deg"),
            t.ReadNumber("longitude_deg"),
            t.ReadNumber("height_m"))
        { TimeZone = t.ReadText("time_zone") };
        if (site.TimeZone.Length > 0 && SiteClock.Check(site.TimeZone) is { } error)
        {
            throw t.ErrorAt("time_zone", error);
        }

        t.RejectUnread();
        return site;
    }

    private static CalibrationData? ReadCalibration(TomlSection t)
    {
        if (!t.IsPresent)
        {
            return null;
        }

        double? Optional(string key) => t.Has(key) ? t.ReadNumber(key) : null;
        var calibration = new CalibrationData(
            t.ReadText("date"),
            t.ReadText("method"),
            Optional("rate_uncertainty_ppm"),
            Optional("arm_uncertainty_mm"),
            Optional("axis_error_arcmin"))
        {
            DriveDigest = t.ReadText("drive_digest"),
            DriveSince = t.ReadText("drive_since"),
            DriveBy = t.ReadText("drive_by"),
            Against = RigKeys.Methods.ToDictionary(m => m, m => t.ReadText(m + "_against")),
        };
        t.RejectUnread();
        return calibration;
    }
}
