// hourhinge rehearse for a DC motor: the firmware's DC drives on a virtual motor, beside the same motor on a constant
// voltage.

using Hourhinge.App.Common;
using Hourhinge.Firmware.Drives;
using Hourhinge.Rehearsal.Dc;
using Hourhinge.Rig;
using Hourhinge.SharedMath.Geometry;
using Hourhinge.SharedMath.Profile;
using static Hourhinge.App.Common.ConsoleOutput;

namespace Hourhinge.App.Rehearse;

/// <summary>
/// The rig's own speed curve belongs to the maker's motor; the virtual motor is another one, so its curve is measured
/// first, as the maker would, and takes the file's place.
/// </summary>
internal static class RehearseDc
{
    private const double LoadNm = 0.013;

    /// <summary>Rehearses a pack that sags from the curve's voltage to the least, and a load that swings by 30
    /// %.</summary>
    public static int Run(LoadedRig loaded, double minutes, double passMs, double? toleranceArcsec, bool json,
        Theme theme)
    {
        if (loaded.Rig.Hinge is not SwivelledRodHinge hinge || !loaded.Rig.Opens || loaded.Rig.Motor.Dc is not { } dc)
        {
            throw new InputException(
                $"{loaded.Path}: a DC motor is rehearsed on hinge.form \"straight-rod\" or \"bent-rod\" with motion "
                + "= \"opens\" only.");
        }

        var motor = new DcMotorConstants
        {
            TurnsPerNutTurn = loaded.Rig.MotorTurnsPerNutTurn.Ratio,
            CountsPerRotorTurn = loaded.Rig.Motor.FullSteps,
        };
        CompiledDrive drive = RigDrive.Compile(WithMeasuredCurve(loaded, dc, motor), loaded.Drive.Profile.RigDigest);
        double seconds = Math.Min(minutes * 60, drive.Design.TravelSec);
        DcRehearsal Stage()
        {
            var stage = new DcRehearsal(hinge, drive.Design)
            {
                Constants = motor,
                LoadNm = LoadNm,
                LoadSwing = 0.3,
                LoadRoughness = 0.1,
                Seconds = seconds,
                SettleSec = Math.Min(60, seconds / 4),
                MaxLoopPeriodMs = Math.Max(passMs, 1),
            };
            stage.Pack.OpenCircuitVolts = t => dc.CurveVolts - ((dc.CurveVolts - dc.MinVolts - 0.1) * t / seconds);
            return stage;
        }

        DcRehearsalResult tracked = Stage().Track(drive.Profile);
        int duty = SpeedCurve.DutyFor(drive.Profile.Dc, (long)(drive.Design.CountsPerSecAt(0) * 1000));
        DcRehearsalResult constant = Stage().ConstantDuty(duty);
        double allowed = toleranceArcsec ?? LensScale.Of(loaded.Rig, null)?.ArcsecPerPixel ?? 5;
        bool good = tracked.PeakArcsec <= allowed && tracked.FinalState == "TRACKING";
        if (json)
        {
            WriteJson(w =>
            {
                w.WriteString("rig", loaded.Rig.Name);
                w.Number("tracked_min", seconds / 60, 3);
                w.Number("rms_arcsec", tracked.RmsArcsec, 4);
                w.Number("peak_arcsec", tracked.PeakArcsec, 4);
                w.Number("rate_error_percent", tracked.RateErrorPercent, 5);
                w.Number("constant_voltage_rate_error_percent", constant.RateErrorPercent, 5);
                w.Number("tolerance_arcsec", allowed, 4);
                w.WriteBoolean("within_tolerance", good);
                w.WriteString("final_state", tracked.FinalState);
            });
        }
        else
        {
            Spectre.Console.Table table = theme.Table($"{loaded.Rig.Name}: {seconds / 60:0.#} minutes after settling",
                "", "Hourhinge", "constant voltage");
            theme.Row(table, "RMS error, arcsec", Number(tracked.RmsArcsec, 3), Number(constant.RmsArcsec, 1));
            theme.Row(table, "peak error, arcsec", Number(tracked.PeakArcsec, 3), Number(constant.PeakArcsec, 1));
            theme.Row(table, "rate error, %", Number(tracked.RateErrorPercent, 4),
                Number(constant.RateErrorPercent, 2));
            Theme.Show(table);
            theme.Line(
                $"Virtual motor, its own speed curve; supply {dc.CurveVolts:0.0} to {dc.MinVolts + 0.1:0.0} V, "
                + $"load ±30 %, passes up to {Math.Max(passMs, 1):0.#} ms; ends {tracked.FinalState}.");
            theme.Assessment(good
                ? $"Good: the error stays below {Number(allowed, 2)}\"."
                : $"Not good: the error exceeds {Number(allowed, 2)}\".");
        }

        return good ? ExitCode.Done : ExitCode.AnswerIsNo;
    }

    private static RigDescription WithMeasuredCurve(LoadedRig loaded, DcData dc, DcMotorConstants motor)
    {
        double perNutTurn = loaded.Drive.Design.CountsPerNutTurn.Ratio;
        DcSettings measured = SpeedCurveBench.Measure(
            motor, LoadNm, (int)(dc.CurveVolts * 1000), loaded.Rig.Motor.FullSteps,
            2.2 * loaded.Drive.Design.CountsPerSecAt(0));
        (double, double)[] curve =
            [.. measured.CurveDuty.Zip(measured.CurveMilliCountsPerSec,
                (d, c) => (d / 100.0, c / 1000.0 / perNutTurn * 60))];
        int fastest = (int)(measured.CurveMilliCountsPerSec[^1] / 1000);
        return loaded.Rig with
        {
            Motor = loaded.Rig.Motor with
            {
                PullInStepsPerSec = fastest,
                RewindStepsPerSec = fastest,
                ApproachStepsPerSec = Math.Max(1, fastest / 4),
                Dc = dc with { Curve = curve, BreakAwayPercent = measured.BreakAwayDuty / 100.0 },
            },
        };
    }
}
