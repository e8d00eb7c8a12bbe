// What `hourhinge rehearse RIG` prints, as a table and as JSON: the same for steppers and DC motors.

using Hourhinge.App.Common;
using Hourhinge.App.Common.Supply;
using Hourhinge.Rehearsal.Mechanisms;
using Hourhinge.Rehearsal.Rig;
using Hourhinge.Rehearsal.Tracking;
using Hourhinge.Rig;
using Spectre.Console;
using static Hourhinge.App.Common.ConsoleOutput;

namespace Hourhinge.App.Rehearse;

/// <summary>A rehearsal's result and the limit that it is judged by.</summary>
internal sealed record RehearsePage(string RigName, RehearsalOptions Options, RehearsalResult Result, LensScale? Lens,
    double AllowedArcsec)
{
    private static readonly int[] _tableMinutes = [1, 5, 10, 20, 30, 60, 90];

    /// <summary>The pack; null when it is not known.</summary>
    public MeasuredPack? Pack { get; init; }

    /// <summary>Said of a rig file whose corrections the rehearsed hinge does not need; null for others.</summary>
    public string? CorrectionRemark { get; init; }

    /// <summary>The remark for a rig and the faults that it is rehearsed with.</summary>
    public static string? CorrectionRemarkOf(RigDescription rig, VirtualRigOptions board)
    {
        MechanicalFaults faults = board.Faults;
        bool periodic = rig.Periodic.Count > 0 && faults.PeriodicArcsec == 0;
        bool rate = rig.Rate != rig.Rate.Uncorrected && faults with { PeriodicArcsec = 0 } == new MechanicalFaults();
        string? hinge = periodic || rate
            ? $"The rig file corrects a measured {(periodic ? "periodic error" : "rate")}"
                + $"{(periodic && rate ? " and a rate" : "")}; the rehearsed hinge does not have this error, so the "
                + $"correction shows here. Rehearse it with the error: {(periodic ? "--periodic" : "--radius-error")}."
            : null;
        string? clock = rig.ClockTrimPpm != 0 && board.CrystalErrorPpm == 0
            ? $"The rig file trims the controller's clock by {rig.ClockTrimPpm:0.###} ppm; the rehearsed crystal is "
                + $"exact, so the trim shows here. Rehearse it with the error: --clock-error {-rig.ClockTrimPpm:0.###}."
            : null;
        return hinge == null ? clock : clock == null ? hinge : $"{hinge} {clock}";
    }

    /// <summary>The pack's hours in words; null where nothing is said about them.</summary>
    public string? PackSentence => Pack != null || MotorAssumption != null ? PackOptions.Sentence(Pack) : null;

    /// <summary>True when the error stays within the limit and the controller does not end in fault.</summary>
    public bool IsGood => Result.PeakArcsec <= AllowedArcsec && Result.FinalState != "FAULT";

    /// <summary>Half a drive count in words.</summary>
    public string HalfCount => Result.Drive switch
    {
        "stepper" => "half a microstep",
        "dc-encoder" => "half an encoder count",
        _ => "half a count",
    };

    /// <summary>What the constant-voltage drive was assumed to be.</summary>
    public string ConstantAssumption =>
        "The constant-voltage drive is the same rig with the same faults on a motor that was set "
        + (Options.ByEyePercent == 0 ? "exactly right " : $"by eye {Number(Math.Abs(Options.ByEyePercent), 2)} % too "
            + $"{(Options.ByEyePercent < 0 ? "slow" : "fast")} ")
        + $"(--by-eye-percent) and slows by {Number(Options.SagPercent, 1)} % as its pack sags (--sag).";

    /// <summary>What a DC motor was assumed to be; null for a stepper.</summary>
    public string? MotorAssumption => Result.Drive == "stepper"
        ? null
        : "The virtual motor follows the rig file's speed_curve around the speed of the sky; its pack sags by "
            + $"{Number(Options.SagPercent, 1)} % (--sag), to {Number(Result.FinalVolts ?? double.NaN, 2)} V, and its "
            + $"load swings by {Number(Options.Board.LoadSwingPercent, 0)} % (--load-swing). The first "
            + $"{Number(Result.SettleSec, 0)} s, in which it settles, do not count.";

    /// <summary>Rows of the table of errors: minute, and the index into the result's curves.</summary>
    public IEnumerable<(int Minute, int Index)> TableRows => _tableMinutes
        .Where(m => m <= Result.TrackedMinutes + 0.01)
        .Select(m => (m, Array.FindLastIndex(Result.Minutes, at => at <= m + 0.05)));

    /// <summary>Prints tables and sentences.</summary>
    public void Print(Theme theme)
    {
        RehearsalResult r = Result;
        string pixels = Lens == null ? "" : $"pixels at {Lens.FocalMm:0.#} mm";
        Table table = theme.Table($"{RigName}: {r.TrackedMinutes:0.#} minutes, error in arcseconds", "after",
            "Hourhinge", pixels, "constant voltage", pixels);
        foreach ((int minute, int i) in TableRows)
        {
            theme.Row(table, $"{minute} min", Number(r.TrackedArcsec[i], 3), Pixels(r.TrackedArcsec[i]),
                Number(r.ConstantArcsec[i], 2), Pixels(r.ConstantArcsec[i]));
        }

        Theme.Show(table);
        theme.Line(
            $"Peak {Number(r.PeakArcsec, 3)}\", RMS {Number(r.RmsArcsec, 3)}\"; {HalfCount} is "
            + $"{Number(r.HalfCountArcsec, 3)}\"; passes every {Options.LoopPeriodMs:0.#} ms.");
        theme.Line(
            $"First minute peak {Number(r.PeakFirstMinuteArcsec, 3)}\", last minute peak "
            + $"{Number(r.PeakLastMinuteArcsec, 3)}\". Rate error {Number(r.RateErrorPercent, 4)} %, constant voltage "
            + $"{Number(r.ConstantRateErrorPercent, 2)} %.");
        string pulses = r.Pulses is { } p ? $"Pulses {p.Sent}, lost {p.Lost}; lateness" : "Lateness";
        theme.Line(
            $"{pulses} worst {Number(r.LatenessSec.Worst, 4)} s, mean {Number(r.LatenessSec.Mean, 4)} s; ends "
            + $"{r.FinalState}.");
        theme.Line(ConstantAssumption);
        if (MotorAssumption is { } motor)
        {
            theme.Line(motor);
        }

        if (CorrectionRemark is { } remark)
        {
            theme.Line(remark);
        }

        if (PackSentence is { } pack)
        {
            theme.Line(pack);
        }

        string limit = $"{Number(AllowedArcsec, 2)}\"";
        theme.Assessment(IsGood
            ? $"Good: the error stays below {limit} throughout."
            : r.PeakArcsec <= AllowedArcsec
            ? "Not good: the controller ends in fault."
            : $"Not good: the error exceeds {limit}.");

        string Pixels(double arcsec) => Lens == null ? "" : Number(arcsec / Lens.ArcsecPerPixel, 2);
    }

    /// <summary>Prints JSON.</summary>
    public void WriteJson() => ConsoleOutput.WriteJson(w =>
    {
        RehearsalResult r = Result;
        w.WriteString("rig", RigName);
        w.WriteString("drive", r.Drive);
        w.Number("tracked_min", r.TrackedMinutes, 3);
        w.Number("settle_s", r.SettleSec, 3);
        w.Number("pass_ms", Options.LoopPeriodMs, 3);
        w.Number("peak_arcsec", r.PeakArcsec, 4);
        w.Number("rms_arcsec", r.RmsArcsec, 4);
        w.Number("half_count_arcsec", r.HalfCountArcsec, 4);
        w.Number("peak_first_minute_arcsec", r.PeakFirstMinuteArcsec, 4);
        w.Number("peak_last_minute_arcsec", r.PeakLastMinuteArcsec, 4);
        w.Number("rate_error_percent", r.RateErrorPercent, 5);
        w.Number("constant_voltage_rate_error_percent", r.ConstantRateErrorPercent, 5);
        w.Number("constant_voltage_by_eye_percent", Options.ByEyePercent, 3);
        w.Number("sag_percent", Options.SagPercent, 3);
        w.Number("load_swing_percent", r.Drive == "stepper" ? double.NaN : Options.Board.LoadSwingPercent, 3);
        w.Number("tolerance_arcsec", AllowedArcsec, 4);
        w.WriteBoolean("within_tolerance", IsGood);
        w.Number("arcsec_per_pixel", Lens?.ArcsecPerPixel ?? double.NaN, 4);
        w.Number("pulses_sent", r.Pulses?.Sent ?? double.NaN, 0);
        w.Number("pulses_lost", r.Pulses?.Lost ?? double.NaN, 0);
        w.WriteNumber("loop_passes", r.LoopCount);
        w.Number("lateness_worst_s", r.LatenessSec.Worst, 6);
        w.Number("lateness_mean_s", r.LatenessSec.Mean, 6);
        w.Number("supply_end_v", r.FinalVolts ?? double.NaN, 3);
        w.Number("pack_hours", Pack?.Hours ?? double.NaN, 2);
        w.WriteString("final_state", r.FinalState);
        w.Numbers("minute", r.Minutes, 4);
        w.Numbers("error_arcsec", r.TrackedArcsec, 4);
        w.Numbers("instant_error_arcsec", r.InstantArcsec, 4);
        w.Numbers("constant_voltage_error_arcsec", r.ConstantArcsec, 4);
    });
}
