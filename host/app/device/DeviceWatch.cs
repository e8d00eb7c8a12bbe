// hourhinge device watch: the controller's state, again and again, through a cable that is pulled and put back.

using System.CommandLine;
using System.Diagnostics;
using System.Globalization;
using Hourhinge.App.Common;
using Hourhinge.App.Link;
using Spectre.Console;

namespace Hourhinge.App.Device;

internal static class DeviceWatch
{
    public static Command Create()
    {
        Option<string> to = SharedOptions.To();
        Option<double> interval = Quantity.Option("--interval", 0.1, 3600, 1, "s", "Time between two readings");
        Option<int> count = Quantity.Integer("--count", 0, 1000000, 0, "", "Readings until it ends; 0 for no end");
        var lines = new Option<bool>("--lines")
        { Description = "A line for each reading instead of one live table; always so into a file." };
        Option<bool> json = new("--json") { Description = "Print one JSON object a reading, a line each." };
        Option<bool> night = SharedOptions.Night();
        var command = new Command("watch",
            "Show state, position, time left, lateness, supply and frames until Ctrl-C; a lost link is opened again.")
        {
            to, interval, count, lines, json, night,
        };
        command.SetAction((parsed, cancel) =>
        {
            using var link = new LastingLink(parsed.GetRequiredValue(to));
            var theme = new Theme(parsed.GetValue(night));
            bool isLive = !parsed.GetValue(lines) && !parsed.GetValue(json) && !Console.IsOutputRedirected;
            var pace = TimeSpan.FromSeconds(parsed.GetValue(interval));
            void Repeat(Action<WatchSample> show)
            {
                for (int n = 0; n < parsed.GetValue(count) || parsed.GetValue(count) == 0; n++)
                {
                    if (n > 0 && cancel.WaitHandle.WaitOne(pace))
                    {
                        break;
                    }

                    show(link.Sample());
                }
            }

            if (isLive)
            {
                AnsiConsole.Live(theme.Facts("")).Start(context => Repeat(sample =>
                {
                    context.UpdateTarget(Table(theme, sample));
                    context.Refresh();
                }));
            }
            else if (parsed.GetValue(json))
            {
                Repeat(sample => ConsoleOutput.WriteJson(sample.Write, oneLine: true));
            }
            else
            {
                // A file gets lines of any length.
                Repeat(sample => (Console.IsOutputRedirected ? ConsoleOutput.WriteLine : (Action<string>)theme.Line)(
                    sample.Line()));
            }

            return Task.FromResult(ExitCode.Done);
        });
        return command;
    }

    private static Table Table(Theme theme, WatchSample sample)
    {
        Table table = theme.Facts(sample.Reading?.Identity ?? "no answer yet");
        theme.Row(table, "at", sample.Clock + (sample.IsConnected ? "" : $": {sample.Lost()}"));
        foreach ((string name, string value) in sample.Reading?.Rows() ?? [])
        {
            theme.Row(table, sample.IsConnected ? name : $"last {name}", value);
        }

        if (sample.EndsAt() is { } end)
        {
            theme.Row(table, "travel ends", $"at {end} by this computer's clock");
        }

        return table;
    }
}

/// <summary>One reading of a watch, or that there was none.</summary>
/// <param name="At">When.</param>
/// <param name="Reading">What the controller said; the last that it said while the link is lost.</param>
/// <param name="Problem">Why the link is lost; empty while it is not.</param>
/// <param name="LostFor">Time since the last answer.</param>
internal sealed record WatchSample(DateTimeOffset At, DeviceReading? Reading, string Problem, TimeSpan LostFor)
{
    public bool IsConnected => Problem.Length == 0;

    public string Clock => At.ToLocalTime().ToString("HH:mm:ss", CultureInfo.InvariantCulture);

    /// <summary>The link's state in words.</summary>
    public string Lost() => $"NO LINK for {LostFor.TotalSeconds:0} s; trying again. A controller with power goes on.";

    /// <summary>When the travel ends, while tracking.</summary>
    public string? EndsAt() => Reading is { State: "TRACKING", RemainingSec: >= 0 and < 1e6 } && IsConnected
        ? At.ToLocalTime().AddSeconds(Reading.RemainingSec).ToString("HH:mm", CultureInfo.InvariantCulture)
        : null;

    /// <summary>One line.</summary>
    public string Line()
    {
        if (!IsConnected)
        {
            return $"{Clock} {Lost()} ({Problem})";
        }

        DeviceReading r = Reading!;
        string state = r.Fault.Length > 0 ? $"FAULT {r.Fault}" : r.State;
        string position = r.IsPositionKnown
            ? $"{r.Position:0} (due {r.Due:0})  {r.RemainingSec / 60:0.0} min left"
            : "position unknown";
        string supply = double.IsNaN(r.SupplyVolts) ? "" : $"  {r.SupplyVolts:0.00} V";
        string end = EndsAt() is { } at ? $" (ends {at})" : "";
        string errors = r.ErrorsWaiting == 0 ? "" : $"  {r.ErrorsWaiting} errors wait";
        return $"{Clock} {state}  {position}{end}  late "
            + $"{r.WorstLatenessSec * 1000:0.0} ms{supply}  shutter {r.ShutterText()}{errors}";
    }

    /// <summary>The fields of --json.</summary>
    public void Write(System.Text.Json.Utf8JsonWriter w)
    {
        w.WriteString("utc", At.UtcDateTime.ToString("yyyy-MM-ddTHH:mm:ssZ", CultureInfo.InvariantCulture));
        w.WriteBoolean("connected", IsConnected);
        w.WriteString("problem", Problem);
        w.Number("lost_for_s", LostFor.TotalSeconds, 1);
        if (IsConnected)
        {
            Reading!.Write(w);
        }
    }
}

/// <summary>A link that is opened again after it was lost. The first opening must succeed.</summary>
internal sealed class LastingLink : IDisposable
{
    private readonly string _port;
    private readonly Stopwatch _sinceAnswer = Stopwatch.StartNew();
    private ControllerLink? _link;
    private DeviceReading? _last;

    /// <summary>Opens the port; an error is a wrong port or a controller that is off.</summary>
    public LastingLink(string port)
    {
        _port = port;
        _link = ControllerLink.Open(port);
    }

    /// <summary>Reads once. A lost link gives the last reading and the reason.</summary>
    public WatchSample Sample()
    {
        try
        {
            _link ??= ControllerLink.Open(_port);
            _last = DeviceReading.Of(_link);
            _sinceAnswer.Restart();
            return new WatchSample(DateTimeOffset.Now, _last, "", TimeSpan.Zero);
        }
        catch (DeviceException e)
        {
            Close();
            return new WatchSample(DateTimeOffset.Now, _last, e.Message, _sinceAnswer.Elapsed);
        }
    }

    public void Dispose() => Close();

    private void Close()
    {
        try
        {
            _link?.Dispose();
        }
        catch (Exception e) when (e is IOException or UnauthorizedAccessException or InvalidOperationException)
        {
            // A port whose device is gone cannot be closed properly.
        }

        _link = null;
    }
}
