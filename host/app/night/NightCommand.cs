// hourhinge night: darkness, altitude of the target, runs and rewinds, pole star; or the year ahead; or the pole.

using System.CommandLine;
using System.Globalization;
using Hourhinge.App.Common;
using Hourhinge.App.Common.Supply;
using Hourhinge.Numerics;
using Hourhinge.Rig;
using Hourhinge.Sky.Places;
using Hourhinge.Sky.Planning;
using static Hourhinge.App.Common.ConsoleOutput;

namespace Hourhinge.App.Night;

internal static class NightCommand
{
    public static Command Create()
    {
        var target =
            new Option<string[]>("--target")
            {
                Description =
                "Target: M31, \"Veil Nebula\", Vega, or RA,DEC in degrees (10.68,41.27). Several: do they fit in one "
                + "frame?",
                AllowMultipleArgumentsPerToken = true,
            };
        var date = new Option<string?>("--date")
        {
            Description = "Date of the evening, YYYY-MM-DD; default is this night's.",
            HelpName = "DATE"
        };
        var rig = new Option<FileInfo?>("--rig") { Description = "Rig file: travel, site, camera.", HelpName = "RIG" };
        var site = new Option<string?>("--site")
        {
            Description =
            "LATITUDE,LONGITUDE in degrees, north and east positive; default is the rig's.",
            HelpName = "LAT,LON"
        };
        Option<double> altitude = Quantity.Option("--altitude", 0, 89, 30, "deg", "High enough for useful frames");
        Option<double?> zone = Quantity.Optional("--utc-offset", -12, 14, "h",
            "Clock shown: hours ahead of UTC; default is the site's time_zone, or UTC");
        Option<double> exposure = Quantity.Option("--exposure", 0.1, 7200, 120, "s", "One frame");
        Option<double> gap = Quantity.Option("--gap", 0, 3600, 5, "s", "Between two frames");
        Option<double> rewind = Quantity.Option("--rewind", 0, 600, 8, "min", "Rewinding and framing again");
        Option<double?> lens =
            Quantity.Optional("--lens", 4, 3000, "mm", "Focal length for the framing; default is the rig's first lens");
        var year = new Option<bool>("--year") { Description = "Assess the 52 weeks from the date on instead." };
        var pole = new Option<bool>("--pole")
        { Description = "How to aim the axis by eye instead, hour by hour; needs no target." };
        var pack = new PackOptions();
        Option<FileInfo?> html = SharedOptions.Html();
        Option<bool> json = SharedOptions.Json();
        Option<bool> night = SharedOptions.Night();
        var command = new Command("night", "Plan a night: darkness, target, runs and rewinds, moon, pole star.")
        {
            target, date, rig, site, altitude, zone, exposure, gap, rewind, lens, year, pole, html, json, night,
        };
        pack.AddTo(command);
        command.Exclude(year, pack.All);
        command.Exclude(pole, pack.All);
        command.Exclude(year, exposure, gap, rewind, lens);
        command.Exclude(pole, target, altitude, exposure, gap, rewind, year);
        command.Validators.Add(result =>
        {
            if (!result.GetValue(pole) && result.GetResult(target) is not { Implicit: false })
            {
                result.AddError("Option '--target' is required.");
            }
        });
        command.SetAction(parsed =>
        {
            FileInfo? report = parsed.GetValue(html);
            HtmlFile.Check(report);
            FileInfo? file = parsed.GetValue(rig);
            LoadedRig? loaded = file == null ? null : LoadedRig.From(file);
            SkyTarget[] targets = [.. (parsed.GetValue(target) ?? []).Select(SkyTarget.Find)];
            SiteData? named = parsed.GetValue(site) == null ? loaded?.Rig.Site : null;
            SiteClock clock = SiteClock.Of(named, parsed.GetValue(zone));
            (Site place, string placeName) = Place(parsed.GetValue(site), loaded);
            DateOnly evening = Date(parsed.GetValue(date), place);
            var request = new NightRequest(targets, evening, place, placeName,
                Angle.FromDegrees(parsed.GetValue(altitude)), clock);
            var theme = new Theme(parsed.GetValue(night));
            try
            {
                if (parsed.GetValue(pole))
                {
                    var aim = new PolePage(request, Scale(loaded, parsed.GetValue(lens)));
                    Show(parsed.GetValue(json), aim.Write, () => aim.Print(theme));
                    if (report != null)
                    {
                        HtmlFile.Write(report, PoleHtml.Page(aim, parsed.GetValue(night)));
                    }

                    return aim.IsPossible ? ExitCode.Done : ExitCode.AnswerIsNo;
                }

                if (parsed.GetValue(year))
                {
                    var view = new YearPage(request);
                    Show(parsed.GetValue(json), view.Write, () => view.Print(theme));
                    if (report != null)
                    {
                        HtmlFile.Write(report, NightHtml.Page(view, parsed.GetValue(night)));
                    }

                    return view.HasSeason ? ExitCode.Done : ExitCode.AnswerIsNo;
                }

                double travel = (loaded?.Drive.Design.TravelSec / 60) ?? 60;
                var plan =
                    new RunPlan(travel, parsed.GetValue(rewind), parsed.GetValue(exposure), parsed.GetValue(gap));
                var page = new NightPage(request, plan, Field(loaded, parsed.GetValue(lens)))
                {
                    Pack = pack.Read(parsed, loaded?.Rig),
                };
                Show(parsed.GetValue(json), page.Write, () => page.Print(theme));
                if (report != null)
                {
                    HtmlFile.Write(report, NightHtml.Page(page, parsed.GetValue(night)));
                }

                return page.HasFrames ? ExitCode.Done : ExitCode.AnswerIsNo;
            }
            catch (ArgumentException e)
            {
                throw new InputException(e.Message.Split('\n')[0].Split(" (Parameter")[0]);
            }
        });
        return command;
    }

    private static void Show(bool json, Action<System.Text.Json.Utf8JsonWriter> write, Action print)
    {
        if (json)
        {
            WriteJson(write);
        }
        else
        {
            print();
        }
    }

    private static DateOnly Date(string? text, Site place)
    {
        if (text == null)
        {
            return DarkHours.EveningAt(DateTimeOffset.UtcNow, place.LongitudeEast.Degrees);
        }

        return DateOnly.TryParseExact(text, "yyyy-MM-dd", CultureInfo.InvariantCulture, DateTimeStyles.None,
            out DateOnly date) && date.Year is >= 1980 and <= 2100
            ? date
            : throw new InputException($"--date {text}: must be YYYY-MM-DD, 1980-01-01 to 2100-12-31.");
    }

    private static (Site Site, string Name) Place(string? text, LoadedRig? loaded)
    {
        if (text == null)
        {
            SiteData data = loaded?.Rig.Site ?? throw new InputException(
                "--site is missing: give LATITUDE,LONGITUDE in degrees, or a --rig whose file has a table [site].");
            return (Site.FromDegrees(data.LatitudeDeg, data.LongitudeDeg, data.HeightM), data.Name);
        }

        double[]? numbers = SkyTarget.Pair(text);
        return numbers != null && Math.Abs(numbers[0]) <= 90 && Math.Abs(numbers[1]) <= 180
            ? (Site.FromDegrees(numbers[0], numbers[1]), text)
            : throw new InputException(
                $"--site {text}: must be LATITUDE,LONGITUDE in degrees, -90 to 90 and -180 to 180, such as 47.2,12.6.");
    }

    private static LensScale? Scale(LoadedRig? loaded, double? focalMm) => loaded != null
        ? LensScale.Of(loaded.Rig, focalMm)
        : focalMm == null ? null : throw new InputException("--lens needs a --rig whose file has a table [camera].");

    private static FieldOfView? Field(LoadedRig? loaded, double? focalMm)
    {
        if (loaded?.Rig.Camera is not { } camera)
        {
            return focalMm == null
                ? null
                : throw new InputException("--lens needs a --rig whose file has a table [camera].");
        }

        return FieldOfView.Of(focalMm ?? camera.LensesMm[0], camera.WidthPx * camera.PixelUm / 1000,
            camera.HeightPx * camera.PixelUm / 1000);
    }
}
