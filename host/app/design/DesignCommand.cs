// hourhinge design PARTS: from a box of parts to the builds that it allows, the best ones first.

using System.CommandLine;
using System.Text;
using Hourhinge.App.Common;
using Hourhinge.Planning.Parts;

namespace Hourhinge.App.Design;

internal static class DesignCommand
{
    public static Command Create()
    {
        var parts = new Argument<FileInfo>("PARTS")
        {
            Description = "File of parts (TOML): what is in the box, and what is wanted. On a terminal, a file that is "
                + "not there yet is asked for question by question and written.",
        };
        var write = new Option<FileInfo?>("--write")
        {
            Description = "Also write the chosen build as a rig file, which must not exist yet.",
            HelpName = "FILE",
        };
        Option<int> choose = Quantity.Integer("--choose", 1, BuildSearch.Answers, 1, "",
            "Which build of the table --write writes");
        Option<FileInfo?> html = SharedOptions.Html();
        Option<bool> json = SharedOptions.Json();
        Option<bool> night = SharedOptions.Night();
        var command = new Command("design",
            "Find the best hinges, gears and microsteps for a box of parts, and write the rig file of one.")
        { parts, write, choose, html, json, night };
        command.Need(write, choose);
        command.SetAction((parsed, cancel) => Task.FromResult(Run(
            parsed.GetRequiredValue(parts), parsed.GetValue(write), parsed.GetValue(choose), parsed.GetValue(html),
            parsed.GetValue(json), parsed.GetValue(night), cancel)));
        return command;
    }

    private static int Run(FileInfo parts, FileInfo? write, int choose, FileInfo? html, bool json, bool night,
        CancellationToken cancel)
    {
        HtmlFile.Check(html);
        if (write is { Exists: true })
        {
            throw Exists(write);
        }

        AtomicFile.Check(write, "--write");
        PartsBox box = ReadOrAsk(parts);
        SearchResult result = ProgressBar.Run("looking for builds", 1, night,
            show => BuildSearch.Run(box, (done, all) => show((double)done / all), cancel));
        var page = new DesignPage(box, result);
        if (json)
        {
            page.WriteJson();
        }
        else
        {
            page.Print(new Theme(night));
        }

        if (html != null)
        {
            HtmlFile.Write(html, DesignHtml.Page(page, parts.Name, night));
        }

        if (write != null && result.Best.Count > 0)
        {
            WriteRig(write, choose, result);
        }

        return result.Best.Count > 0 ? ExitCode.Done : ExitCode.AnswerIsNo;
    }

    private static void WriteRig(FileInfo file, int choose, SearchResult result)
    {
        if (choose > result.Best.Count)
        {
            throw new InputException($"--choose {choose}: the table has {result.Best.Count} builds; 1 to "
                + $"{result.Best.Count}.");
        }

        if (!AtomicFile.WriteNew(file, "--write", Encoding.UTF8.GetBytes(result.Best[choose - 1].RigText)))
        {
            throw Exists(file);
        }

        ConsoleOutput.WriteRemark($"Wrote {file}: build {choose}. Next: hourhinge rig check {file}, then: hourhinge "
            + $"rehearse {file}");
    }

    private static PartsBox ReadOrAsk(FileInfo parts)
    {
        if (parts.Exists || Directory.Exists(parts.FullName) || Console.IsInputRedirected
            || Console.IsOutputRedirected)
        {
            return PartsReader.ReadFile(parts.ToString());
        }

        AtomicFile.Check(parts, "");
        string text = new DesignInterview(Console.In, Console.Out).Ask(parts.ToString());
        if (!AtomicFile.WriteNew(parts, "", Encoding.UTF8.GetBytes(text)))
        {
            throw Exists(parts);
        }

        ConsoleOutput.WriteRemark($"Wrote {parts}.");
        return PartsReader.Read(parts.ToString(), text);
    }

    private static InputException Exists(FileInfo file) =>
        new($"{file}: the file exists already and is left as it is; choose another name.");
}
