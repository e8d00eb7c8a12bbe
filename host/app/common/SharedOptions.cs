using System.CommandLine;

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
}
