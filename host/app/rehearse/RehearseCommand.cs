// hourhinge rehearse RIG: track the sky without hardware, or serve the virtual controller (--serve).

using System.CommandLine;
using Hourhinge.App.Common;
using Hourhinge.App.Rehearse.Serve;
using Hourhinge.Rehearsal.Mechanisms;
using Hourhinge.Rehearsal.Rig;
using Hourhinge.Rehearsal.Tracking;
using Hourhinge.Rig;
using Hourhinge.SharedMath.Geometry;
using Spectre.Console;
using static Hourhinge.App.Common.ConsoleOutput;

namespace Hourhinge.App.Rehearse;

internal static class RehearseCommand
{
    /// <summary>Times at which the error is printed, minutes.</summary>
    public static readonly int[] TableMinutes = [1, 5, 10, 20, 30, 60, 90];

    public static Command Create()
    {
        var rig = new Argument<FileInfo?>("RIG")
        {
            Description = "Rig file (TOML); with --serve it may be left out.",
            Arity = ArgumentArity.ZeroOrOne
        };
        Option<double> minutes =
            Quantity.Option("--minutes", 1, 720, 60, "min", "How long to track; the travel's end comes first");
        Option<double> pass =
            Quantity.Option("--pass", 0.1, 100, 1, "ms", "Time between two passes of the firmware's loop");
        Option<double> radius =
            Quantity.Option("--radius-error", -20, 20, 0, "%", "Fault: arms longer than the rig file says");
        Option<double> bend = Quantity.Option("--bend-error", -50, 50, 0, "%",
            "Fault: rod bent to a larger radius than the rig file says");
        Option<double> wave =
            Quantity.Option("--rod-wave", 0, 2000, 0, "um", "Fault: rod not circular, by a slow wave");
        Option<double> periodic =
            Quantity.Option("--periodic", 0, 600, 0, "arcsec", "Fault: periodic error of one nut turn");
        Option<double> sag =
            Quantity.Option("--sag", 0, 90, 0, "%", "How much the constant-voltage drive slows as its battery sags");
        Option<double> clock =
            Quantity.Option("--clock-error", -10000, 10000, 0, "ppm", "Fault: controller's crystal is fast");
        Option<double> lost = Quantity.Option("--lost-steps", 0, 1000, 0, "per 1000", "Fault: steps lost at random");
        Option<double?> lens = Quantity.Optional("--lens", 4, 3000, "mm",
            "Focal length for the pixel scale; default is the rig's first lens");
        Option<double?> tolerance = Quantity.Optional("--tolerance", 0.001, 100000, "arcsec",
            "Largest error that still counts as good; default is one pixel");
        var textbook = new Option<bool>("--textbook")
        { Description = "Rehearse the textbook form: started square, no surface offset, no tip radius." };
        var frames = new FrameOptions();
        Option<FileInfo?> plot = SharedOptions.Plot();
        Option<FileInfo?> html = SharedOptions.Html();
        Option<bool> json = SharedOptions.Json();
        Option<bool> night = SharedOptions.Night();
        var serve =
            new Option<bool>("--serve") { Description = "Serve the virtual controller on TCP 127.0.0.1 instead." };
        Option<int> port = Quantity.Integer("--port", 0, 65535, 5025, "",
            "With --serve: TCP port; 0 takes a free one");
        var pty = new Option<bool>("--pty") { Description = "With --serve: also as a serial port (pseudo-terminal)." };
        Option<double> speed =
            Quantity.Option("--speed", 0.1, 1000, 1, "times", "With --serve: how fast virtual time runs");
        var command =
            new Command("rehearse", "Track the sky with the real firmware on a virtual board, and measure the error.")
        {
            rig, minutes, pass, lens, tolerance, textbook, radius, bend, wave, periodic, sag, clock, lost, plot, html,
            json, night, serve, port, pty, speed,
        };
        frames.AddTo(command);
        command.Need(serve, port, pty, speed);
        command.Exclude(serve, minutes, pass, lens, tolerance, textbook, sag, plot, html, json, night);
        command.SetAction((parsed, cancel) =>
        {
            FileInfo? file = parsed.GetValue(rig);
            var board = new VirtualRigOptions
            {
                CrystalErrorPpm = parsed.GetValue(clock),
                LostStepsPerThousand = parsed.GetValue(lost),
                Faults = new MechanicalFaults
                {
                    RadiusErrorPercent = parsed.GetValue(radius),
                    BendErrorPercent = parsed.GetValue(bend),
                    RodWaveUm = parsed.GetValue(wave),
                    PeriodicArcsec = parsed.GetValue(periodic),
                },
            };
            if (parsed.GetValue(serve))
            {
                return Task.FromResult(Server.Run(file, board, parsed.GetValue(port), parsed.GetValue(pty),
                    parsed.GetValue(speed), cancel));
            }

            if (file == null)
            {
                throw new InputException("RIG is missing: name a rig file, or begin one with: hourhinge rig new FILE");
            }

            FileInfo? picture = parsed.GetValue(plot);
            PlotCanvas.Check(picture);
            FileInfo? page = parsed.GetValue(html);
            HtmlFile.Check(page);
            LoadedRig loaded = parsed.GetValue(textbook) ? Textbook(file) : LoadedRig.From(file);
            if (loaded.Rig.Motor.Dc != null)
            {
                return Task.FromResult(RehearseDc.Run(
                    loaded, parsed.GetValue(minutes), parsed.GetValue(pass), parsed.GetValue(tolerance),
                    parsed.GetValue(json), new Theme(parsed.GetValue(night))));
            }

            LensScale? scale = LensScale.Of(loaded.Rig, parsed.GetValue(lens));
            var options = new RehearsalOptions
            {
                Minutes = parsed.GetValue(minutes),
                LoopPeriodMs = parsed.GetValue(pass),
                SagPercent = parsed.GetValue(sag),
                Board = board,
            };
            FrameRequest? shots = frames.Read(parsed, loaded.Rig);
            if (shots != null)
            {
                options =
                    options with { Minutes = Math.Max(options.Minutes, shots.NeededMinutes), SampleIntervalSec = 0.25 };
            }

            RehearsalResult result;
            try
            {
                result = WithProgress(new TrackingRehearsal(loaded.Rig, loaded.Drive, loaded.File, options));
            }
            catch (MathNet.Numerics.NonConvergenceException)
            {
                throw new InputException(
                    "--radius-error or --bend-error: with these faults the linkage cannot close; take smaller ones.");
            }

            if (shots != null)
            {
                FrameCapture.Write(shots, loaded.Rig, result);
            }

            double allowed = parsed.GetValue(tolerance) ?? scale?.ArcsecPerPixel ?? 5;
            if (parsed.GetValue(json))
            {
                PrintJson(loaded, options, result, scale, allowed);
            }
            else
            {
                PrintTable(loaded, options, result, scale, allowed, new Theme(parsed.GetValue(night)));
            }

            if (picture != null)
            {
                RehearsePlot.Draw(picture, loaded.Rig.Name, result, scale, parsed.GetValue(night));
            }

            if (page != null)
            {
                HtmlFile.Write(page, RehearseHtml.Page(loaded, options, result, scale, allowed,
                    parsed.GetValue(textbook), parsed.GetValue(night)));
            }

            return Task.FromResult(result.PeakArcsec <= allowed ? ExitCode.Done : ExitCode.AnswerIsNo);
        });
        return command;
    }

    // The idealised form of textbooks; the series errors θ³/24 and θ³/3 hold for this form only.
    private static LoadedRig Textbook(FileInfo file)
    {
        LoadedRig loaded = LoadedRig.From(file);
        RigDescription rig = loaded.Rig;
        HingeGeometry square = rig.Hinge switch
        {
            FixedRodHinge f => new FixedRodHinge(f.RadiusMm, 0, 0),
            SwivelledRodHinge s when s.NutArmMm == s.AnchorArmMm => s,
            _ => throw new InputException($"{file}: --textbook needs hinge.nut_arm_mm equal to hinge.anchor_arm_mm."),
        };
        double end = rig.Hinge.AngleRad(rig.Rod.LongestMm);
        rig = rig with
        {
            Hinge = square,
            Opens = true,
            Rod = rig.Rod with { ShortestMm = 0, LongestMm = square.RodLengthMm(Math.Min(end, square.MaxAngleRad)) },
        };
        return loaded with { Rig = rig, Drive = RigDrive.Compile(rig, loaded.Drive.Profile.RigDigest) };
    }

    private static RehearsalResult WithProgress(TrackingRehearsal rehearsal)
    {
        if (Console.IsErrorRedirected)
        {
            return rehearsal.Run();
        }

        RehearsalResult? result = null;
        IAnsiConsole bar = AnsiConsole.Create(new AnsiConsoleSettings { Out = new AnsiConsoleOutput(Console.Error) });
        bar.Progress().AutoClear(true).Start(context =>
        {
            ProgressTask task = context.AddTask("rehearsing", maxValue: 1);
            result = rehearsal.Run(share => task.Value = share);
        });
        return result!;
    }

    private static void PrintTable(LoadedRig loaded, RehearsalOptions options, RehearsalResult r, LensScale? lens,
        double allowed, Theme theme)
    {
        string pixels = lens == null ? "" : $"pixels at {lens.FocalMm:0.#} mm";
        Table table = theme.Table($"{loaded.Rig.Name}: {r.TrackedMinutes:0.#} minutes, error in arcseconds", "after",
            "Hourhinge", pixels, "constant voltage", pixels);
        foreach (int minute in TableMinutes.Where(m => m <= r.TrackedMinutes + 0.01))
        {
            int i = Array.FindLastIndex(r.Minutes, m => m <= minute + 0.05);
            theme.Row(table, $"{minute} min", Number(r.TrackedArcsec[i], 3), Pixels(r.TrackedArcsec[i]),
                Number(r.ConstantArcsec[i], 2), Pixels(r.ConstantArcsec[i]));
        }

        Theme.Show(table);
        theme.Line(
            $"Peak {Number(r.PeakArcsec, 3)}\", RMS {Number(r.RmsArcsec, 3)}\"; half a microstep is "
            + $"{Number(r.HalfStepArcsec, 3)}\"; passes every {options.LoopPeriodMs:0.#} ms.");
        theme.Line(
            $"First minute peak {Number(r.PeakFirstMinuteArcsec, 3)}\", last minute peak "
            + $"{Number(r.PeakLastMinuteArcsec, 3)}\".");
        theme.Line(
            $"Pulses {r.Pulses.Sent}, lost {r.Pulses.Lost}; lateness worst, mean {r.LatenessSec} s; ends "
            + $"{r.FinalState}.");
        theme.Assessment(r.PeakArcsec <= allowed
            ? $"Good: the error stays below {Number(allowed, 2)}\" throughout."
            : $"Not good: the error exceeds {Number(allowed, 2)}\".");

        string Pixels(double arcsec) => lens == null ? "" : Number(arcsec / lens.ArcsecPerPixel, 2);
    }

    private static void PrintJson(LoadedRig loaded, RehearsalOptions options, RehearsalResult r, LensScale? lens,
        double allowed) => WriteJson(w =>
    {
        w.WriteString("rig", loaded.Rig.Name);
        w.Number("tracked_min", r.TrackedMinutes, 3);
        w.Number("pass_ms", options.LoopPeriodMs, 3);
        w.Number("peak_arcsec", r.PeakArcsec, 4);
        w.Number("rms_arcsec", r.RmsArcsec, 4);
        w.Number("half_microstep_arcsec", r.HalfStepArcsec, 4);
        w.Number("peak_first_minute_arcsec", r.PeakFirstMinuteArcsec, 4);
        w.Number("peak_last_minute_arcsec", r.PeakLastMinuteArcsec, 4);
        w.Number("tolerance_arcsec", allowed, 4);
        w.WriteBoolean("within_tolerance", r.PeakArcsec <= allowed);
        w.Number("arcsec_per_pixel", lens?.ArcsecPerPixel ?? double.NaN, 4);
        w.WriteNumber("pulses_sent", r.Pulses.Sent);
        w.WriteNumber("pulses_lost", r.Pulses.Lost);
        w.WriteNumber("loop_passes", r.LoopCount);
        w.WriteString("lateness_worst_mean_s", r.LatenessSec);
        w.WriteString("final_state", r.FinalState);
        w.Numbers("minute", r.Minutes, 4);
        w.Numbers("error_arcsec", r.TrackedArcsec, 4);
        w.Numbers("constant_voltage_error_arcsec", r.ConstantArcsec, 4);
    });
}
