using System.Globalization;
using System.Text;

namespace Hourhinge.App.Common;

/// <summary>Text from outside (file names, rig files, cells, a controller's replies) made safe for a terminal: control
/// characters and invisible format characters are shown as escapes such as \x1B.</summary>
internal static class VisibleText
{
    /// <summary>The text with every control, format and separator character and every lone surrogate as a visible
    /// escape.</summary>
    /// <param name="text">Any text.</param>
    /// <param name="keepLines">True: line feeds stay, for text of several lines.</param>
    public static string Of(string text, bool keepLines = false)
    {
        StringBuilder? shown = null;
        for (int i = 0; i < text.Length; i++)
        {
            bool isPair = char.IsSurrogatePair(text, i);
            bool hides = !isPair && Hides(text[i]) && !(keepLines && IsLineEnd(text, i));
            if (hides)
            {
                shown ??= new StringBuilder(text, 0, i, text.Length + 16);
                shown.Append(Escape(text[i]));
            }
            else
            {
                shown?.Append(text[i]);
            }

            if (isPair)
            {
                i++;
                shown?.Append(text[i]);
            }
        }

        return shown?.ToString() ?? text;
    }

    /// <summary>A cell of a list for spreadsheets: visible text that does not begin a formula.</summary>
    /// <param name="text">Any text.</param>
    /// <param name="guard">What stands before a character that would begin one: "./" for a file name, which stays a
    /// path to the same file; "'" otherwise.</param>
    public static string Cell(string text, string guard)
    {
        // Characters that begin a formula: OWASP, "CSV Injection".
        string shown = Of(text);
        return shown.Length > 0 && shown[0] is '=' or '+' or '-' or '@' ? guard + shown : shown;
    }

    private static bool IsLineEnd(string text, int i) =>
        text[i] == '\n' || (text[i] == '\r' && i + 1 < text.Length && text[i + 1] == '\n');

    private static bool Hides(char c) => char.GetUnicodeCategory(c) is UnicodeCategory.Control
        or UnicodeCategory.Format or UnicodeCategory.LineSeparator or UnicodeCategory.ParagraphSeparator
        or UnicodeCategory.Surrogate;

    private static string Escape(char c) => c switch
    {
        '\n' => @"\n",
        '\r' => @"\r",
        '\t' => @"\t",
        < (char)0x100 => $@"\x{(int)c:X2}",
        _ => $@"\u{(int)c:X4}",
    };
}
