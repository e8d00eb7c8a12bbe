namespace Hourhinge.App.Completion;

/// <summary>The scripts for each shell. Where the program knows no word, the shell completes file names.</summary>
internal static class CompletionScripts
{
    private const string Bash = """
        # Completion of hourhinge in bash. In ~/.bashrc: eval "$(hourhinge completion bash)"
        _hourhinge() {
          local line="${COMP_LINE:0:COMP_POINT}"
          local IFS=$'\n'
          COMPREPLY=($("${COMP_WORDS[0]}" completion words --position "${#line}" "$line" 2>/dev/null))
        }
        complete -o default -F _hourhinge hourhinge

        """;

    private const string Zsh = """
        #compdef hourhinge
        # Completion of hourhinge in zsh. In ~/.zshrc, after compinit: eval "$(hourhinge completion zsh)"
        _hourhinge() {
          local line="${BUFFER[1,CURSOR]}"
          local -a found
          found=("${(@f)$(${words[1]} completion words --position ${#line} "$line" 2>/dev/null)}")
          if [[ -n "$found" ]]; then compadd -a found; else _files; fi
        }
        compdef _hourhinge hourhinge

        """;

    private const string PowerShell = """
        # Completion of hourhinge in PowerShell. In $PROFILE:
        # hourhinge completion powershell | Out-String | Invoke-Expression
        Register-ArgumentCompleter -Native -CommandName hourhinge -ScriptBlock {
          param($word, $ast, $cursor)
          $line = $ast.ToString().PadRight($cursor)
          hourhinge completion words --position $cursor "$line" 2>$null | ForEach-Object {
            [System.Management.Automation.CompletionResult]::new($_, $_, 'ParameterValue', $_)
          }
        }

        """;

    /// <summary>The shells.</summary>
    public static IReadOnlyList<string> Shells { get; } = ["bash", "zsh", "powershell"];

    /// <summary>The script of a shell of <see cref="Shells"/>.</summary>
    public static string Of(string shell) => shell switch
    {
        "bash" => Bash,
        "zsh" => Zsh,
        _ => PowerShell,
    };
}
