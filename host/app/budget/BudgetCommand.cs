// hourhinge budget RIG: what blurs an exposure, which source dominates, how long an exposure may be, how deep a stack
// goes.

using System.CommandLine;
using Hourhinge.App.Common;
using Hourhinge.App.Common.Supply;
using Hourhinge.Planning;
using Hourhinge.Rig;
using static Hourhinge.App.Common.ConsoleOutput;

namespace Hourhinge.App.Budget;

internal static class BudgetCommand
{
    public static Command Create()
    {
        Argument<FileInfo> rig = SharedOptions.RigFile();
        Option<double?> lens =
            Quantity.Optional("--lens", 4, 3000, "mm", "Focal length; default is the rig's first lens");
        Option<double> ratio = Quantity.Option("--f-number", 0.9, 64, 4, "f/", "Focal ratio of the lens");
        Option<double> exposure = Quantity.Option("--exposure", 0.1, 7200, 120, "s", "Exposure");
        Option<double> declination = Quantity.Option("--dec", -90, 90, 0, "deg", "Target's declination");
        Option<double> hourAngle =
            Quantity.Option("--hour-angle", -12, 12, 0, "h", "Target's hour angle at mid-exposure, west positive");
        Option<double?> axis =
            Quantity.Optional("--axis-error", 0, 600, "arcmin", "Distance of the hinge axis from the pole");
        Option<double?> arm = Quantity.Optional("--arm-error", 0, 50, "mm", "Uncertainty of the hinge's arms");
        Option<double?> rate = Quantity.Optional("--rate-error", 0, 100000, "ppm", "Rate error left after calibration");
        Option<double?> periodic = Quantity.Optional("--periodic", 0, 600, "arcsec", "Periodic error left, amplitude");
        Option<double?> clock = Quantity.Optional("--clock-error", 0, 10000, "ppm", "Clock error left");
        Option<double?> sag = Quantity.Optional("--sag", 0, 50, "%", "Speed lost to a sagging supply (open-loop DC)");
        Option<double?> blur = Quantity.Optional("--blur", 0.1, 1000, "arcsec", "Blur to allow; default is one pixel");
        Option<double?> latitude =
            Quantity.Optional("--latitude", -90, 90, "deg", "Site's latitude; default is the rig's site");
        Option<double> sky = Quantity.Option("--sky", 14, 23, 21, "mag/arcsec²", "Sky brightness");
        Option<double> noise = Quantity.Option("--read-noise", 0.1, 100, 3, "electrons", "Camera's read noise");
        Option<double> throughput = Quantity.Option("--throughput", 0.01, 1, 0.4, "share",
            "Photons that become electrons: lens, filter, sensor");
        Option<double> surface = Quantity.Option("--surface", 14, 30, 23, "mag/arcsec²", "Surface brightness to reach");
        Option<double> wanted = Quantity.Option("--signal", 1, 1000, 10, "S/N", "Signal to noise a pixel to reach");
        var pack = new PackOptions();
        Option<bool> json = SharedOptions.Json();
        Option<bool> night = SharedOptions.Night();
        Option<FileInfo?> plot = SharedOptions.Plot();
        Option<FileInfo?> html = SharedOptions.Html();
        var command = new Command("budget", "What blurs an exposure, what to improve first, and how long it may be.")
        {
            rig, lens, ratio, exposure, declination, hourAngle, axis, arm, rate, periodic, clock, sag, blur, latitude,
            sky, noise, throughput, surface, wanted, plot, html, json, night,
        };
        pack.AddTo(command);
        command.Exclude(rate, arm);
        command.SetAction(parsed =>
        {
            FileInfo? picture = parsed.GetValue(plot);
            PlotCanvas.Check(picture);
            FileInfo? report = parsed.GetValue(html);
            HtmlFile.Check(report);
            LoadedRig loaded = LoadedRig.From(parsed.GetRequiredValue(rig));
            CameraData camera = loaded.Rig.Camera
                ?? throw new InputException(
                    $"{loaded.Path}: the budget needs the table [camera] with pixel_um, width_px, height_px, "
                    + "lenses_mm.");
            SiteData site = parsed.GetValue(latitude) is { } given
                ? (loaded.Rig.Site ?? new SiteData("", 0, 0, 0)) with { LatitudeDeg = given }
                : loaded.Rig.Site
                ?? throw new InputException(
                    $"{loaded.Path}: the budget needs the table [site] with latitude_deg, or --latitude, -90 to 90 "
                    + "deg.");
            BudgetInput input = BudgetInput.From(
                loaded.Rig,
                loaded.Drive,
                camera,
                site,
                LensScale.Of(loaded.Rig, parsed.GetValue(lens))!.TrueFocalMm,
                parsed.GetValue(ratio),
                parsed.GetValue(exposure),
                parsed.GetValue(declination),
                parsed.GetValue(hourAngle));
            if (loaded.Rig.Motor.Dc is not { HasEncoder: false })
            {
                parsed.RejectWithoutEffect(sag, input.SagPercent.Source);
            }

            if (!double.IsNaN(input.RateUncertaintyPpm.Value))
            {
                parsed.RejectWithoutEffect(arm, "its rate was measured (calibration.rate_uncertainty_ppm)");
            }

            SourcedValue Given(Option<double?> option, SourcedValue otherwise) => parsed.GetValue(option) is { } v
                ? new SourcedValue(v, "as given") : otherwise;
            input = input with
            {
                AxisErrorArcmin = Given(axis, input.AxisErrorArcmin),
                ArmUncertaintyMm = Given(arm, input.ArmUncertaintyMm),
                RateUncertaintyPpm = Given(rate, input.RateUncertaintyPpm),
                PeriodicArcsec = Given(periodic, input.PeriodicArcsec),
                ClockPpm = Given(clock, input.ClockPpm),
                SagPercent = Given(sag, input.SagPercent),
            };
            var budget = new ExposureBudget(input);
            if (budget.AltitudeDeg < 5)
            {
                throw new InputException(
                    $"--dec {input.DeclinationDeg} at --hour-angle {input.HourAngleHours}: the target stands at "
                    + $"{budget.AltitudeDeg:0.0}°; it must be 5° or more above the horizon.");
            }

            var depth = new StackDepth(input.FocalRatio, input.FocalMm, camera.PixelUm, parsed.GetValue(noise),
                parsed.GetValue(sky), parsed.GetValue(throughput));
            double allowed = parsed.GetValue(blur) ?? input.ArcsecPerPixel;
            var page = new BudgetPage(input, budget, depth, allowed, parsed.GetValue(surface), parsed.GetValue(wanted))
            {
                Pack = pack.Read(parsed, loaded.Rig),
            };
            if (parsed.GetValue(json))
            {
                WriteJson(page.Write);
            }
            else
            {
                page.Print(new Theme(parsed.GetValue(night)));
            }

            if (picture != null)
            {
                BudgetPlot.Draw(picture, loaded.Rig.Name, page, parsed.GetValue(night));
            }

            if (report != null)
            {
                HtmlFile.Write(report, BudgetHtml.Page(loaded, page, parsed.GetValue(night)));
            }

            return budget.TrackingBlurArcsec <= allowed ? ExitCode.Done : ExitCode.AnswerIsNo;
        });
        return command;
    }
}
