using System.Diagnostics;

namespace Hourhinge.Tests.Host.App.Completion;

/// <summary>Shell completion: the words, and the script in a real bash.</summary>
public class CompletionTests
{
    [Theory]
    [InlineData("hourhinge re", "rehearse")]
    [InlineData("hourhinge rig ", "check new")]
    [InlineData("hourhinge calibrate st", "stars")]
    [InlineData("hourhinge rig new x.toml --form ", "bent-rod camera-tip-fixed camera-tip-straight drive-tip-fixed "
        + "drive-tip-straight fixed-rod straight-rod")]
    [InlineData("hourhinge rig new --dr", "--drive")]
    [InlineData("hourhinge night --target Ve", "Vega")]
    [InlineData("hourhinge nonsense --", "")]
    public void The_words_that_may_follow(string line, string words)
    {
        (int code, string output, string error) =
            Tool.Run("completion", "words", "--position", $"{line.Length}", line);
        Assert.True(code == 0, error);
        string[] found = output.Split('\n', StringSplitOptions.RemoveEmptyEntries);
        foreach (string word in words.Split(' ', StringSplitOptions.RemoveEmptyEntries))
        {
            Assert.Contains(word, found);
        }

        string typed = line[(line.LastIndexOf(' ') + 1)..];
        Assert.All(found, f => Assert.StartsWith(typed, f, StringComparison.OrdinalIgnoreCase));
    }

    [Theory]
    [InlineData("zsh", "compdef _hourhinge hourhinge")]
    [InlineData("powershell", "Register-ArgumentCompleter -Native -CommandName hourhinge")]
    public void The_script_of_a_shell_is_printed(string shell, string words)
    {
        (int code, string output, _) = Tool.Run("completion", shell);
        Assert.Equal(0, code);
        Assert.Contains(words, output, StringComparison.Ordinal);
        Assert.Equal(2, Tool.Run("completion", "tcsh").Code);
    }

    [SkippableTheory]
    [InlineData("hourhinge cali", "calibrate")]
    [InlineData("hourhinge calibrate ", "rod stars turns")]
    [InlineData("hourhinge rehearse x.toml --rod", "--rod-wave")]
    public void A_real_bash_completes(string line, string words)
    {
        Skip.IfNot(File.Exists("/usr/bin/bash"), "no bash found");
        string script = Tool.Run("completion", "bash").Out;
        string program = Path.Combine(AppContext.BaseDirectory, "hourhinge.dll");
        // A function stands for the program of that name in PATH.
        string commands = $$"""
            hourhinge() { dotnet "{{program}}" "$@"; }
            {{script}}
            COMP_LINE="{{line}}"; COMP_POINT=${#COMP_LINE}; COMP_WORDS=(hourhinge); COMP_CWORD=1
            complete -p hourhinge >/dev/null || exit 9
            _hourhinge
            printf '%s\n' "${COMPREPLY[@]}"
            """;
        var start = new ProcessStartInfo("/usr/bin/bash", ["--norc", "-c", commands])
        { RedirectStandardOutput = true };
        using Process process = Process.Start(start)!;
        string output = process.StandardOutput.ReadToEnd();
        process.WaitForExit();
        Assert.Equal(0, process.ExitCode);
        Assert.All(words.Split(' '), w => Assert.Contains(w, output.Split('\n')));
    }
}
