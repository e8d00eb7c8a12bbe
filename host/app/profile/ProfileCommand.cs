// hourhinge profile RIG: the constants of a rig, as table, JSON, CSV, picture or report page.

using System.CommandLine;
using Hourhinge.App.Common;
using static Hourhinge.App.Common.ConsoleOutput;

namespace Hourhinge.App.Profile;

internal static class ProfileCommand
{
    public static Command Create()
    {
        Argument<FileInfo> rig = SharedOptions.RigFile();
        Option<bool> json = SharedOptions.Json();
        Option<bool> night = SharedOptions.Night();
        Option<FileInfo?> plot = SharedOptions.Plot();
        Option<FileInfo?> html = SharedOptions.Html();
        var csv = new Option<bool>("--csv") { Description = "Print the drive over the travel as CSV." };
        var command = new Command("profile", "Compute a rig's constants and compile its drive profile.") { rig, json,
            csv, plot, html, night };
        command.Exclude(csv, json);
        command.SetAction(parsed =>
        {
            FileInfo? picture = parsed.GetValue(plot);
            PlotCanvas.Check(picture);

            FileInfo? page = parsed.GetValue(html);
            HtmlFile.Check(page);
            LoadedRig loaded = LoadedRig.From(parsed.GetRequiredValue(rig));
            var report = new ProfileReport(loaded);
            if (parsed.GetValue(json))
            {
                PrintJson(report);
            }
            else if (parsed.GetValue(csv))
            {
                foreach (string row in report.CsvRows())
                {
                    Console.WriteLine(row);
                }
            }
            else
            {
                PrintTable(report, new Theme(parsed.GetValue(night)));
            }

            if (picture != null)
            {
                ProfilePlot.Draw(picture, report, parsed.GetValue(night));
            }

            if (page != null)
            {
                HtmlFile.Write(page, ProfileHtml.Page(loaded, report, parsed.GetValue(night)));
            }

            return ExitCode.Done;
        });
        return command;
    }

    private static void PrintTable(ProfileReport r, Theme theme)
    {
        double[] at = r.Stations;
        Spectre.Console.Table table = theme.Table($"{r.Rig.Name}: the drive", "", "start", "middle", "end");
        theme.Row(table, "minutes", "0.0", Number(r.TravelMin / 2, 1), Number(r.TravelMin, 1));
        Row("nut turns a minute", r.NutTurnsPerMin, 5);
        Row($"{r.Rig.Motor.CountNames} a second", r.StepsPerSec, 3);
        Row("correction, %", r.CorrectionPercent, 3);
        Row($"arcsec a {r.Rig.Motor.CountName}", r.ArcsecPerStep, 4);
        Theme.Show(table);

        Spectre.Console.Table errors = theme.Table("Constant speed, right at the start: + ahead of the sky, - behind",
            ["after", .. ProfileReport.TableMinutes.Select(m => $"{m} min")]);
        theme.Row(errors,
            ["error, arcsec", .. ProfileReport.TableMinutes.Select(m => Number(r.Uncorrected(m * 60), 2))]);
        Theme.Show(errors);
        theme.Line(
            $"The hinge goes from {Number(r.StartAngleDeg, 2)}° to {Number(r.EndAngleDeg, 2)}° at "
            + $"{Number(r.RateArcsecPerSec, 4)} arcsec/s.");
        theme.Line(
            $"One nut turn is {r.StepsPerNutTurnText}; pitch {Number(r.Rig.Rod.PitchMm, 5)} mm.");
        theme.Line($"Profile: {r.ProfileBytes} bytes, {r.Segments} segments; against the closed form at worst");
        theme.Line(
            $"{Number(r.Accuracy.WorstCounts, 5)} {r.Rig.Motor.CountName} = {Number(r.Accuracy.WorstArcsec, 5)} "
            + $"arcsec (proved below {Number(r.Accuracy.BoundCounts, 5)} {r.Rig.Motor.CountName}).");

        void Row(string name, Func<double, double> value, int decimals) =>
            theme.Row(table, [name, .. at.Select(t => Number(value(t), decimals))]);
    }

    private static void PrintJson(ProfileReport r) => WriteJson(w =>
    {
        double[] at = r.Stations;
        w.WriteString("rig", r.Rig.Name);
        w.Number("rate_arcsec_per_s", r.RateArcsecPerSec, 6);
        w.Number("travel_min", r.TravelMin, 3);
        w.Number("start_angle_deg", r.StartAngleDeg, 5);
        w.Number("end_angle_deg", r.EndAngleDeg, 5);
        w.Number("pitch_mm", r.Rig.Rod.PitchMm, 6);
        w.WriteString("microsteps_per_nut_turn_fraction",
            $"{r.StepsPerNutTurn.Numerator}/{r.StepsPerNutTurn.Denominator}");
        w.Number("microsteps_per_nut_turn", r.StepsPerNutTurn.Ratio, 6);
        w.Numbers("station_min", at.Select(t => t / 60), 3);
        w.Numbers("nut_turns_per_min", at.Select(r.NutTurnsPerMin), 7);
        w.Numbers("microsteps_per_s", at.Select(r.StepsPerSec), 5);
        w.Numbers("correction_percent", at.Select(r.CorrectionPercent), 5);
        w.Numbers("arcsec_per_microstep", at.Select(r.ArcsecPerStep), 6);
        w.Numbers("uncorrected_at_min", ProfileReport.TableMinutes.Select(m => (double)m), 0);
        w.Numbers("uncorrected_error_arcsec", ProfileReport.TableMinutes.Select(m => r.Uncorrected(m * 60)), 3);
        w.WriteNumber("profile_bytes", r.ProfileBytes);
        w.WriteNumber("profile_segments", r.Segments);
        w.Number("evaluator_worst_microsteps", r.Accuracy.WorstCounts, 6);
        w.Number("evaluator_worst_arcsec", r.Accuracy.WorstArcsec, 6);
        w.Number("evaluator_bound_microsteps", r.Accuracy.BoundCounts, 6);
    });
}
