using Spectre.Console;
using Spectre.Console.Rendering;

namespace Hourhinge.App.Common;

/// <summary>
/// The style of tables. By day the terminal's own colours; with --night dim red on black, which preserves dark
/// adaptation. No meaning depends on colour alone.
/// </summary>
internal sealed class Theme(bool night)
{
    private readonly Style _plain = night ? new Style(new Color(170, 0, 0), Color.Black) : Style.Plain;
    private readonly Style _strong = night
        ? new Style(new Color(220, 0, 0), Color.Black, Decoration.Bold)
        : new Style(decoration: Decoration.Bold);

    /// <summary>A table of names and texts, without heads.</summary>
    public Table Facts(string title)
    {
        Table table = Table(title, "", "");
        table.Columns[1].Alignment = Justify.Left;
        return table;
    }

    /// <summary>A table with a title and column heads; columns after the first are numbers.</summary>
    public Table Table(string title, params string[] heads)
    {
        var table = new Table
        {
            Border = TableBorder.Horizontal,
            BorderStyle = _plain,
            Title = new TableTitle(Markup.Escape(VisibleText.Of(title)), _strong)
        };
        for (int i = 0; i < heads.Length; i++)
        {
            table.AddColumn(new TableColumn(Cell(heads[i])) { Alignment = i == 0 ? Justify.Left : Justify.Right });
        }

        table.ShowHeaders = heads.Any(h => h.Length > 0);
        return table;
    }

    /// <summary>Adds a row of text.</summary>
    public void Row(Table table, params string[] cells) =>
        table.AddRow(cells.Select(c => (IRenderable)Cell(c)).ToArray());

    /// <summary>Prints a table.</summary>
    public static void Show(Table table) => AnsiConsole.Write(table);

    /// <summary>Prints a line.</summary>
    public void Line(string text) => Line(text, AnsiConsole.Console);

    /// <summary>Prints a line on another console.</summary>
    public void Line(string text, IAnsiConsole console) =>
        console.Write(new Text(VisibleText.Of(text, true) + Environment.NewLine, _plain));

    /// <summary>Prints the main result, in bold.</summary>
    public void Assessment(string text) =>
        AnsiConsole.Write(new Text(VisibleText.Of(text, true) + Environment.NewLine, _strong));

    private Text Cell(string text) => new(VisibleText.Of(text), _plain);
}
