using System.Text.Json;
using Hourhinge.App.Common;
using Hourhinge.Sky.Planning;
using static Hourhinge.App.Common.ConsoleOutput;

namespace Hourhinge.App.Night;

/// <summary>The 52 weeks from a date on for one target.</summary>
internal sealed class YearPage
{
    public NightRequest Request { get; }

    public IReadOnlyList<WeekView> Weeks { get; }

    /// <summary>First week of the season, counted from 0.</summary>
    public int First { get; }

    /// <summary>Weeks in the season; 0 for none.</summary>
    public int Count { get; }

    public YearPage(NightRequest ask)
    {
        Request = ask;
        Weeks = YearView.Of(ask.Targets[0].Place, ask.Site, ask.Evening, ask.Altitude, ask.Air);
        (First, Count) = YearView.Season(Weeks);
    }

    public bool HasSeason => Count > 0;

    public void Print(Theme theme)
    {
        Spectre.Console.Table table =
            theme.Table(
                $"{Request.Targets[0].Name} from {Request.SiteName}: hours above {Request.Altitude.Degrees:0}° in "
                + "the dark",
                "week from", "dark", "useful", "moon-free", "moon lit, %", "");
        table.Columns[5].Alignment = Spectre.Console.Justify.Left;
        foreach (WeekView w in Weeks)
        {
            theme.Row(table, $"{w.Start:yyyy-MM-dd}", Number(w.DarkHours, 1), Number(w.UsefulHours, 1),
                Number(w.MoonFreeHours, 1), Number(w.MoonIlluminatedFraction * 100, 0), Bar(w));
        }

        Theme.Show(table);
        theme.Assessment(HasSeason
            ? $"Best from {Weeks[First].Start:yyyy-MM-dd}, {Count} weeks. This week: {Reason(Weeks[0])}."
            : $"Never well placed from this site: {Reason(Weeks[0])}.");
    }

    public void Write(Utf8JsonWriter w)
    {
        w.WriteString("target", Request.Targets[0].Name);
        w.WriteNumber("season_first_week", HasSeason ? First : -1);
        w.WriteNumber("season_weeks", Count);
        w.WriteString("now", Reason(Weeks[0]));
        w.WriteStartArray("weeks");
        foreach (WeekView week in Weeks)
        {
            w.WriteStartObject();
            w.WriteString("from", week.Start.ToString("yyyy-MM-dd", System.Globalization.CultureInfo.InvariantCulture));
            w.Number("dark_h", week.DarkHours, 2);
            w.Number("useful_h", week.UsefulHours, 2);
            w.Number("moon_free_h", week.MoonFreeHours, 2);
            w.Number("moon_lit_fraction", week.MoonIlluminatedFraction, 3);
            w.WriteString("obstacle", week.Obstacle.ToString());
            w.WriteEndObject();
        }

        w.WriteEndArray();
    }

    private static string Bar(WeekView week) => week.UsefulHours > 0
        ? new string('=', (int)Math.Ceiling(week.UsefulHours)) : Reason(week);

    public static string Reason(WeekView week) => week.Obstacle switch
    {
        Obstacle.None => $"{week.UsefulHours:0.0} useful hours a night",
        Obstacle.NeverHighEnough => "never that high",
        Obstacle.NoDarkness => "never dark",
        Obstacle.UpOnlyInDaylight => "up by day only",
        _ => "moon all the time",
    };
}
