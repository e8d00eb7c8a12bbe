using System.CommandLine;
using System.CommandLine.Parsing;

namespace Hourhinge.App.Common;

/// <summary>Arguments and options that several commands share.</summary>
internal static class SharedOptions
{
    /// <summary>The rig file.</summary>
    public static Argument<FileInfo> RigFile() => new("RIG") { Description = "Rig file (TOML): what you built." };

    /// <summary>Machine-readable output.</summary>
    public static Option<bool> Json() => new("--json") { Description = "Print JSON instead of tables." };

    /// <summary>Night colours.</summary>
    public static Option<bool> Night() => new("--night") { Description = "Dim red on black, for use at the site." };

    /// <summary>A picture.</summary>
    public static Option<FileInfo?> Plot() =>
        new("--plot") { Description = "Also draw a picture into FILE.png or FILE.svg.", HelpName = "FILE" };

    /// <summary>A report page.</summary>
    public static Option<FileInfo?> Html() =>
        new("--html")
        {
            Description = "Also write a report page into FILE.html; it needs no network and prints on A4.",
            HelpName = "FILE"
        };

    /// <summary>The controller's port.</summary>
    public static Option<string> To() => new("--to")
    {
        Description = "The controller's port: a serial port (/dev/ttyUSB0, COM3) or tcp:127.0.0.1:5025.",
        HelpName = "PORT",
        Required = true,
    };

    /// <summary>Rejects options that have no effect without another one.</summary>
    public static void Need(this Command command, Option other, params Option[] options) =>
        command.Validators.Add(result =>
        {
            if (!IsGiven(result, other) && options.FirstOrDefault(o => IsGiven(result, o)) is { } idle)
            {
                result.AddError($"{idle.Name} has no effect without {other.Name}");
            }
        });

    /// <summary>Rejects options that have no effect beside another one.</summary>
    public static void Exclude(this Command command, Option other, params Option[] options) =>
        command.Validators.Add(result =>
        {
            if (IsGiven(result, other) && options.FirstOrDefault(o => IsGiven(result, o)) is { } idle)
            {
                result.AddError($"{idle.Name} has no effect with {other.Name}");
            }
        });

    /// <summary>Rejects an option that has no effect on the rig that was read.</summary>
    public static void RejectWithoutEffect(this ParseResult parsed, Option option, string why)
    {
        if (parsed.GetResult(option) is { Implicit: false })
        {
            throw new InputException($"{option.Name}: no effect on this rig: {why}; omit it.");
        }
    }

    private static bool IsGiven(CommandResult result, Option option) =>
        result.GetResult(option) is { Implicit: false } given
        && !(option is Option<bool> && given.GetValueOrDefault<bool>() == false);
}
