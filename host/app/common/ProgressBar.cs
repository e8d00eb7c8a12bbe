using Spectre.Console;

namespace Hourhinge.App.Common;

/// <summary>
/// The progress bar of every long job, on standard error, so that results on standard output stay clean. Nothing is
/// drawn where standard error is not a terminal. With --night the bar is dim red.
/// </summary>
internal static class ProgressBar
{
    // The brightest shade of red in Theme, and one below it for the part that is still to do.
    private static readonly Color _dim = new(170, 0, 0);
    private static readonly Color _dark = new(70, 0, 0);

    /// <summary>Runs a job under a bar and returns its result.</summary>
    /// <param name="label">What is being done, for people.</param>
    /// <param name="total">Value at which the job is done; more than 0.</param>
    /// <param name="night">Dim red only.</param>
    /// <param name="job">The job; it calls its argument with the value reached. Exceptions pass through.</param>
    public static T Run<T>(string label, double total, bool night, Func<Action<double>, T> job)
    {
        if (Console.IsErrorRedirected)
        {
            return job(_ => { });
        }

        return Run(AnsiConsole.Create(new AnsiConsoleSettings { Out = new AnsiConsoleOutput(Console.Error) }), label,
            total, night, job);
    }

    /// <summary>The same on a console of the caller's.</summary>
    internal static T Run<T>(IAnsiConsole console, string label, double total, bool night, Func<Action<double>, T> job)
    {
        T result = default!;
        console.Progress().AutoClear(true).Columns(Columns(night)).Start(context =>
        {
            ProgressTask task = context.AddTask(Label(label, night), maxValue: total);
            result = job(value => task.Value = value);
        });
        return result;
    }

    private static string Label(string label, bool night) =>
        night ? $"[#AA0000]{Markup.Escape(label)}[/]" : Markup.Escape(label);

    private static ProgressColumn[] Columns(bool night)
    {
        var text = new TaskDescriptionColumn();
        var bar = new ProgressBarColumn();
        var percent = new PercentageColumn();
        var time = new RemainingTimeColumn();
        if (night)
        {
            (bar.CompletedStyle, bar.FinishedStyle) = (new Style(_dim, Color.Black), new Style(_dim, Color.Black));
            (bar.RemainingStyle, bar.IndeterminateStyle) =
                (new Style(_dark, Color.Black), new Style(_dark, Color.Black));
            (percent.Style, percent.CompletedStyle) = (new Style(_dim, Color.Black), new Style(_dim, Color.Black));
            time.Style = new Style(_dim, Color.Black);
        }

        return [text, bar, percent, time];
    }
}
