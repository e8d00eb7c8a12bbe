// hourhinge rehearse RIG: track the sky without hardware, or serve the virtual controller (--serve).

using System.CommandLine;
using Hourhinge.App.Common;
using Hourhinge.App.Common.Supply;
using Hourhinge.App.Rehearse.Serve;
using Hourhinge.Rehearsal.Mechanisms;
using Hourhinge.Rehearsal.Rig;
using Hourhinge.Rehearsal.Tracking;
using Hourhinge.Rig;
using Hourhinge.SharedMath.Geometry;

namespace Hourhinge.App.Rehearse;

internal static class RehearseCommand
{
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
            Quantity.Option("--pass", 0.1, 100, RehearsalOptions.BoardLoopPeriodMs, "ms",
                "Time between two passes of the firmware's loop; a board's takes 10 ms or more");
        Option<double> radius =
            Quantity.Option("--radius-error", -20, 20, 0, "%", "Fault: arms longer than the rig file says");
        Option<double> bend = Quantity.Option("--bend-error", -50, 50, 0, "%",
            "Fault: rod bent to a larger radius than the rig file says");
        Option<double> wave =
            Quantity.Option("--rod-wave", 0, 2000, 0, "um", "Fault: rod not circular, by a slow wave");
        Option<double> periodic =
            Quantity.Option("--periodic", 0, 600, 0, "arcsec", "Fault: periodic error of one nut turn");
        Option<double> sag = Quantity.Option("--sag", 0, 90, RehearsalOptions.UsualSagPercent, "%",
            "How much the pack's voltage falls over the rehearsal; the constant-voltage drive slows as much");
        Option<double> byEye = Quantity.Option("--by-eye-percent", -20, 20, RehearsalOptions.UsualByEyePercent, "%",
            "How much too fast the constant-voltage drive was set by eye");
        Option<double> swing = Quantity.Option("--load-swing", 0, 100, SpeedTable.UsualLoadSwingPercent, "%",
            "DC motor: how much the nut's load swings over the travel");
        var pack = new PackOptions();
        Option<double> clock =
            Quantity.Option("--clock-error", -10000, 10000, 0, "ppm", "Fault: controller's crystal is fast");
        Option<double> lost = Quantity.Option("--lost-steps", 0, 1000, 0, "per 1000", "Fault: steps lost at random");
        var counter = new Option<bool>("--step-counter")
        { Description = "The board counts its step pulses back: fast drives are tracked by a pulse train." };
        Option<double?> lens = Quantity.Optional("--lens", 4, 3000, "mm",
            "Focal length for the pixel scale; default is the rig's first lens");
        Option<double?> tolerance = Quantity.Optional("--tolerance", 0.001, 100000, "arcsec",
            "Largest error that still counts as good; default is one pixel, 5 arcsec without a camera");
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
            rig, minutes, pass, lens, tolerance, textbook, radius, bend, wave, periodic, sag, byEye,
            swing, clock, lost, counter, plot, html, json, night, serve, port, pty, speed,
        };
        pack.AddTo(command);
        frames.AddTo(command);
        command.Need(serve, port, pty, speed);
        command.Exclude(serve, minutes, pass, lens, tolerance, textbook, sag, byEye, swing, plot, html, json, night);
        command.Exclude(serve, pack.All);
        command.SetAction((parsed, cancel) =>
        {
            FileInfo? file = parsed.GetValue(rig);
            var board = new VirtualRigOptions
            {
                CrystalErrorPpm = parsed.GetValue(clock),
                LostStepsPerThousand = parsed.GetValue(lost),
                HasStepCounter = parsed.GetValue(counter),
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
            FileInfo? report = parsed.GetValue(html);
            HtmlFile.Check(report);
            LoadedRig loaded = parsed.GetValue(textbook) ? Textbook(file) : LoadedRig.From(file);
            bool isDc = loaded.Rig.Motor.Dc != null;
            parsed.RejectWithoutEffect(isDc ? lost : swing, isDc
                ? "a DC motor makes no steps to lose"
                : "the load does not slow a stepper; it is for DC motors");
            if (isDc)
            {
                parsed.RejectWithoutEffect(counter, "a DC motor makes no steps to count");
            }

            MeasuredPack? supply = pack.Read(parsed, loaded.Rig);
            LensScale? scale = LensScale.Of(loaded.Rig, parsed.GetValue(lens));
            var options = new RehearsalOptions
            {
                Minutes = parsed.GetValue(minutes),
                LoopPeriodMs = parsed.GetValue(pass),
                SagPercent = parsed.GetValue(sag),
                ByEyePercent = parsed.GetValue(byEye),
                Board = isDc ? board with { LoadSwingPercent = parsed.GetValue(swing) } : board,
            };
            FrameRequest? shots = frames.Read(parsed, loaded.Rig);
            shots?.CheckTravel(loaded.Drive.Design.TravelSec);
            if (shots != null)
            {
                options =
                    options with { Minutes = Math.Max(options.Minutes, shots.NeededMinutes), SampleIntervalSec = 0.25 };
            }

            RehearsalResult result = Run(new TrackingRehearsal(loaded.Rig, loaded.Drive, loaded.File, options),
                parsed.GetValue(night), cancel);
            if (shots != null)
            {
                FrameCapture.Write(shots, loaded.Rig, result, parsed.GetValue(night));
            }

            double allowed = parsed.GetValue(tolerance) ?? scale?.ArcsecPerPixel ?? 5;
            var page = new RehearsePage(loaded.Rig.Name, options, result, scale, allowed)
            {
                Pack = supply,
                CorrectionRemark = RehearsePage.CorrectionRemarkOf(loaded.Rig, board),
            };
            if (parsed.GetValue(json))
            {
                page.WriteJson();
            }
            else
            {
                page.Print(new Theme(parsed.GetValue(night)));
            }

            if (picture != null)
            {
                RehearsePlot.Draw(picture, loaded.Rig.Name, result, scale, parsed.GetValue(night));
            }

            if (report != null)
            {
                HtmlFile.Write(report, RehearseHtml.Page(loaded, page, options, parsed.GetValue(textbook),
                    parsed.GetValue(night)));
            }

            return Task.FromResult(page.IsGood ? ExitCode.Done : ExitCode.AnswerIsNo);
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
            DoubleArmHinge =>
                throw new InputException($"{file}: --textbook is for the forms with one arm, not for a double arm."),
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

    private static RehearsalResult Run(TrackingRehearsal rehearsal, bool night, CancellationToken cancel)
    {
        try
        {
            return ProgressBar.Run("rehearsing", 1, night, progress => rehearsal.Run(progress, cancel));
        }
        catch (MathNet.Numerics.NonConvergenceException)
        {
            throw new InputException(
                "--radius-error or --bend-error: with these faults the linkage cannot close; take smaller ones.");
        }
    }
}
