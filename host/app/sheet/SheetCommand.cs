// hourhinge sheet RIG: templates in true size, the cut list, and the field sheet, to be printed.

using System.CommandLine;
using System.Globalization;
using Hourhinge.App.Common;
using Hourhinge.Numerics;
using Hourhinge.Planning;
using Hourhinge.Rig;
using Hourhinge.SharedMath.Geometry;
using Hourhinge.Sky.Planning;

namespace Hourhinge.App.Sheet;

internal static class SheetCommand
{
    public static Command Create()
    {
        Argument<FileInfo> rig = SharedOptions.RigFile();
        var pdf = new Option<FileInfo?>("--pdf") { Description = "Write all pages into FILE.pdf.", HelpName = "FILE" };
        var svg = new Option<FileInfo?>("--svg")
        { Description = "Write the pages into FILE-01.svg, FILE-02.svg and so on.", HelpName = "FILE" };
        var paper = new Option<string>("--paper")
        { Description = "a4 or letter.", HelpName = "PAPER", DefaultValueFactory = _ => "a4" };
        paper.AcceptOnlyFromAmong("a4", "letter");
        var only = new Option<string>("--only")
        { Description = "all, templates or field.", HelpName = "PART", DefaultValueFactory = _ => "all" };
        only.AcceptOnlyFromAmong("all", "templates", "field");
        Option<double> yield = Quantity.Option("--yield", 100, 2000, 400, "MPa", "Yield stress of the rod");
        Option<double> modulus = Quantity.Option("--modulus", 50, 250, 200, "GPa", "Young's modulus of the rod");
        Option<double?> diameter = Quantity.Optional("--rod-diameter", 1, 30, "mm",
            "Outer diameter of the rod, where the rig file names no thread");
        Option<double?> module = Quantity.Optional("--module", 0.1, 10, "mm",
            "Module of the wheels (pitch diameter by teeth); without it no wheels are drawn");
        var target = new Option<string?>("--target")
        { Description = "Target of the field sheet's runs: M31, Vega, or RA,DEC in degrees.", HelpName = "NAME" };
        var date = new Option<string?>("--date")
        { Description = "Date of the evening, YYYY-MM-DD; default is this night's.", HelpName = "DATE" };
        Option<double?> zone = Quantity.Optional("--utc-offset", -12, 14, "h",
            "Clock shown: hours ahead of UTC; default is the site's time_zone, or UTC");
        Option<double> altitude = Quantity.Option("--altitude", 0, 89, 30, "deg", "High enough for useful frames");
        Option<double> exposure = Quantity.Option("--exposure", 0.1, 7200, 120, "s", "One frame");
        Option<double> gap = Quantity.Option("--gap", 0, 3600, 5, "s", "Between two frames");
        Option<double> rewind = Quantity.Option("--rewind", 0, 600, 8, "min", "Rewinding and framing again");
        var command = new Command("sheet", "Print templates in true size, the cut list and the field sheet.")
        {
            rig, pdf, svg, paper, only, yield, modulus, diameter, module, target, date, zone, altitude, exposure, gap,
            rewind,
        };
        command.Validators.Add(result =>
        {
            if (result.GetValue(pdf) == null && result.GetValue(svg) == null)
            {
                result.AddError("--pdf FILE or --svg FILE is missing");
            }
        });
        command.SetAction(parsed =>
        {
            FileInfo? document = Checked(parsed.GetValue(pdf), "--pdf", ".pdf");
            FileInfo? drawings = Checked(parsed.GetValue(svg), "--svg", ".svg");
            LoadedRig loaded = LoadedRig.From(parsed.GetRequiredValue(rig));
            Paper sheet = parsed.GetValue(paper) == "letter" ? Paper.Letter : Paper.A4;
            SiteClock clock = SiteClock.Of(loaded.Rig.Site, parsed.GetValue(zone));
            double travelMin = loaded.Drive.Design.TravelSec / 60;
            var night = new FieldNight(Evening(parsed.GetValue(date), loaded.Rig.Site), clock,
                parsed.GetValue(target) is { } name ? SkyTarget.Find(name) : null,
                Angle.FromDegrees(parsed.GetValue(altitude)),
                new RunPlan(travelMin, parsed.GetValue(rewind), parsed.GetValue(exposure), parsed.GetValue(gap)));
            string footer = HtmlFile.Source("sheet", loaded);
            string part = parsed.GetValue(only)!;
            RodThread? rod = Thread(loaded.Rig, parsed.GetValue(diameter));
            RodBending? bending = rod == null
                ? null
                : new RodBending(rod.CoreMm, parsed.GetValue(yield), parsed.GetValue(modulus) * 1000);
            List<string> left = [];
            List<SheetPage> pages =
            [
                .. part == "field" ? [] : Templates(loaded.Rig, rod, bending, parsed.GetValue(module), sheet, footer,
                    left),
                .. part == "templates" ? [] : Field(loaded.Rig, travelMin, night, sheet, footer),
            ];
            if (document != null)
            {
                AtomicFile.Write(document, "--pdf", SheetFile.Pdf(sheet, $"{loaded.Rig.Name}: sheets", pages));
                ConsoleOutput.WriteLine($"Wrote {document}: {pages.Count} pages, {sheet.Name}.");
            }

            for (int i = 0; i < pages.Count && drawings != null; i++)
            {
                string path = Path.ChangeExtension(drawings.ToString(), null) + $"-{i + 1:00}.svg";
                AtomicFile.Write(new FileInfo(path), "--svg", SheetFile.Svg(sheet, pages[i]));
                ConsoleOutput.WriteLine($"Wrote {path}: {pages[i].Title}.");
            }

            left.ForEach(why => ConsoleOutput.WriteRemark($"Left out: {why}"));
            return ExitCode.Done;
        });
        return command;
    }

    private static List<SheetPage> Templates(RigDescription rig, RodThread? thread, RodBending? bending,
        double? moduleMm, Paper paper, string footer, List<string> left)
    {
        var templates = new List<Template>();
        string former = "";
        if (rig.Hinge is SwivelledRodHinge { BendRadiusMm: > 0 } bent)
        {
            var rod = new RodTemplates(rig.Name, bent, rig.Rod.ShortestMm, rig.Rod.LongestMm, thread, bending);
            if (rod.CanDraw)
            {
                templates.Add(rod.Curve());
            }
            else
            {
                left.Add("the rod's curve: it is more than half a turn.");
            }

            if (bending == null)
            {
                left.Add("the former: the rig file names no thread; give --rod-diameter.");
            }
            else if (bending.BentRadiusMm(bent.BendRadiusMm) > bending.ElasticRadiusMm * 0.6)
            {
                left.Add($"the former: at a radius of {bent.BendRadiusMm:0.#} mm most of this rod stays elastic (limit "
                    + $"{bending.ElasticRadiusMm:0} mm), and the result would depend on the steel; bend by trial.");
            }
            else if (rod.CanDraw && rod.ArcLengthMm / rod.FormerRadiusMm < Math.PI)
            {
                former = $"Former's edge {rod.FormerRadiusMm:0.0} mm: the rod's centre line is bent to "
                    + $"{bending.BentRadiusMm(bent.BendRadiusMm):0.0} mm and springs back to "
                    + $"{bent.BendRadiusMm:0.0} mm "
                    + $"(core {thread!.CoreMm:0.00} mm, yield {bending.YieldMpa:0} MPa, modulus "
                    + $"{bending.ModulusMpa / 1000:0} GPa: hardware-notes/mechanics.md). Your steel differs: bend a "
                    + "short "
                    + "piece first, measure it with the gauge, and correct the former.";
                templates.Add(rod.Former());
            }

            templates.Add(rod.Gauge());
        }

        templates.AddRange(BoardTemplates.Holes(rig));
        if (rig.Gear.Pairs.Count > 0 && moduleMm is not { })
        {
            left.Add("the wheels' centre distance: the rig file does not hold their size; give --module in mm.");
        }

        if (moduleMm is { } module)
        {
            templates.AddRange(rig.Gear.Pairs.Select((p, i) => BoardTemplates.Wheels(rig.Name, i, p, module)));
        }

        var list = new FlowPages(paper, $"{rig.Name}: cut list", footer);
        list.Heading("Parts");
        list.Table([0.1, 0.34, 0.56], ["number", "part", "size"], CutList.Rows(rig, thread));
        if (former.Length > 0)
        {
            list.Heading("Bending");
            list.Paragraph(former);
        }

        if (left.Count > 0)
        {
            list.Heading("Left out");
            left.ForEach(why => list.Paragraph(why));
        }

        return [.. list.Pages(), .. templates.SelectMany(t => t.Pages(paper, footer))];
    }

    private static IEnumerable<SheetPage> Field(RigDescription rig, double travelMin, FieldNight night, Paper paper,
        string footer)
    {
        try
        {
            return FieldSheet.Pages(rig, travelMin, night, paper, footer);
        }
        catch (ArgumentException e)
        {
            throw new InputException(e.Message.Split('\n')[0].Split(" (Parameter")[0]);
        }
    }

    private static RodThread? Thread(RigDescription rig, double? diameterMm) => diameterMm is not { } outer
        ? RodThread.Of(rig.Rod.Thread, rig.Rod.PitchMm)
        : RodThread.Nominal(outer, rig.Rod.PitchMm) is { CoreMm: > 0.5 } rod
        ? rod
        : throw new InputException($"--rod-diameter {outer}: must be larger than the thread's depth; the pitch is "
            + $"{rig.Rod.PitchMm:0.###} mm.");

    private static FileInfo? Checked(FileInfo? file, string option, string extension)
    {
        if (file != null && !file.Extension.Equals(extension, StringComparison.OrdinalIgnoreCase))
        {
            throw new InputException($"{option} {file.Name}: the name must end with {extension}.");
        }

        AtomicFile.Check(file, option);
        return file;
    }

    private static DateOnly Evening(string? text, SiteData? site) => text == null
        ? DarkHours.EveningAt(DateTimeOffset.UtcNow, site?.LongitudeDeg ?? 0)
        : DateOnly.TryParseExact(text, "yyyy-MM-dd", CultureInfo.InvariantCulture, DateTimeStyles.None,
            out DateOnly date) && date.Year is >= 1980 and <= 2100
        ? date
        : throw new InputException($"--date {text}: must be YYYY-MM-DD, 1980-01-01 to 2100-12-31.");
}
