// Changes values in a rig file and leaves every other byte as the maker wrote it: comments, blank lines, order.
// Calibration decides what to change. RigReader checks the result: a text that it rejects is never written.

using System.Globalization;
using System.Text;
using System.Text.RegularExpressions;
using Tomlyn.Parsing;
using Tomlyn.Syntax;

namespace Hourhinge.Rig;

/// <summary>A value to set.</summary>
/// <param name="Table">The table's name, such as "hinge"; "periodic[]" for a new entry of an array of tables, "lens[0]"
/// for its first one.</param>
/// <param name="Key">The key.</param>
/// <param name="Value">The value as TOML text.</param>
/// <param name="Comment"> Where the value comes from, from <see cref="RigEditor.Provenance"/>; stands behind the value
/// as a comment. It takes the place of an earlier note of its kind, and stands after the maker's own comment. Null:
/// none.
/// </param>
public sealed record RigChange(string Table, string Key, string Value, string? Comment = null);

/// <summary>A line before and after; null before for a new line.</summary>
public sealed record RigEditLine(string Name, string? Before, string After);

/// <summary>A planned change of a rig file: proved readable, not yet on the disk.</summary>
public sealed record RigEdit(string File, string Before, string After, IReadOnlyList<RigEditLine> Lines)
{
    /// <summary>
    /// Writes a new file beside the old one, reads it back, and puts it in the old one's place in one step: at every
    /// moment the disk holds the complete old file or the complete new one.
    /// </summary>
    public void Save()
    {
        string temporary = string.Empty;
        try
        {
            string target = System.IO.File.ResolveLinkTarget(File, true)?.FullName ?? Path.GetFullPath(File);
            if (Utf8.GetString(System.IO.File.ReadAllBytes(target)) != Before)
            {
                throw new RigFileException(
                    $"{File}: the file has changed meanwhile and is left as it is; run the command again.");
            }

            if (new FileInfo(target).IsReadOnly)
            {
                throw new RigFileException($"{File}: the file is read-only and is left as it is.");
            }

            temporary =
                Path.Combine(Path.GetDirectoryName(target)!, $".{Path.GetFileName(target)}.{Guid.NewGuid():N}.new");
            using (var stream = new FileStream(temporary, FileMode.CreateNew, FileAccess.Write))
            {
                stream.Write(Utf8.GetBytes(After));
                stream.Flush(flushToDisk: true);
            }

            if (!OperatingSystem.IsWindows())
            {
                System.IO.File.SetUnixFileMode(temporary, System.IO.File.GetUnixFileMode(target));
            }

            RigReader.ReadFile(temporary, out _);
            System.IO.File.Move(temporary, target, overwrite: true);
        }
        catch (Exception e) when (e is IOException or UnauthorizedAccessException)
        {
            // The system adds the temporary file's name, which tells the user nothing.
            string reason = e.Message.Split(" : '")[0].TrimEnd('.');
            throw new RigFileException($"{File}: cannot write the rig file, which is left as it was: {reason}.");
        }
        finally
        {
            if (temporary.Length > 0)
            {
                System.IO.File.Delete(temporary); // Gone already when all went well.
            }
        }
    }

    internal static UTF8Encoding Utf8 { get; } = new(encoderShouldEmitUTF8Identifier: false, throwOnInvalidBytes: true);
}

/// <summary>Plans changes of rig files.</summary>
public static partial class RigEditor
{
    private const char ByteOrderMark = '\uFEFF';

    /// <summary>A note for a measured value; <paramref name="sigma"/> is its standard uncertainty as text, null for
    /// exact.</summary>
    public static string Provenance(string? sigma, string method, string date, string of = "") =>
        sigma == null
        ? $"exact by {method} calibration {date}"
        : $"±{sigma} (1 sigma{of}), {method} calibration {date}";

    /// <summary>Plans changes of a file; <see cref="RigFileException"/> when the file or the outcome is not a valid
    /// rig.</summary>
    public static RigEdit Plan(string file, IReadOnlyList<RigChange> changes)
    {
        RigReader.ReadFile(file, out byte[] bytes);
        return PlanText(file, RigEdit.Utf8.GetString(bytes), changes);
    }

    /// <summary>The same for the text of a valid rig file; <paramref name="file"/> is its name for error
    /// messages.</summary>
    public static RigEdit PlanText(string file, string before, IReadOnlyList<RigChange> changes)
    {
        // The parser counts its places without a byte order mark, which Windows editors write.
        string mark = before.StartsWith(ByteOrderMark) ? $"{ByteOrderMark}" : string.Empty;
        string after = before[mark.Length..];
        var lines = new List<RigEditLine>();
        foreach (RigChange change in changes)
        {
            after = Apply(file, after, change, lines);
        }

        after = mark + after;
        int size = RigEdit.Utf8.GetByteCount(after);
        if (size > RigReader.MaxFileBytes)
        {
            throw new RigFileException(
                $"{file}: with this change the rig file would have {size} bytes; it must stay within "
                + $"{RigReader.MaxFileBytes} to ride along on the controller. Shorten its comments.");
        }

        RigDrive.Compile(RigReader.Read(file, after), 0);
        return new RigEdit(file, before, after, lines);
    }

    private static string Apply(string file, string text, RigChange change, List<RigEditLine> lines)
    {
        DocumentSyntax document = SyntaxParser.Parse(text, file);
        if (change.Table.EndsWith("[]", StringComparison.Ordinal))
        {
            return AddToArray(document, text, change, lines);
        }

        Match entry = ArrayEntry().Match(change.Table);
        TableSyntaxBase? table = entry.Success
            ? document.Tables.Where(t => t is TableArraySyntax && NameOf(t.Name) == entry.Groups[1].Value)
                .ElementAt(int.Parse(entry.Groups[2].Value, CultureInfo.InvariantCulture))
            : document.Tables.FirstOrDefault(t => t is TableSyntax && NameOf(t.Name) == change.Table);
        KeyValueSyntax? item = table?.Items.FirstOrDefault(i => NameOf(i.Key) == change.Key);
        if (item != null)
        {
            return Replace(file, text, item, change, lines);
        }

        string newLine = text.Contains("\r\n", StringComparison.Ordinal) ? "\r\n" : "\n";
        string added = $"{change.Key} = {change.Value}" + (change.Comment == null ? "" : $"   # {change.Comment}; new");
        lines.Add(new RigEditLine($"{change.Table}.{change.Key}", null, added));
        if (table != null)
        {
            SyntaxNode last = table.Items.LastOrDefault() is { } lastItem ? lastItem.Value! : table.Name!;
            return InsertAfterLineOf(text, last, added + newLine, newLine);
        }

        // A new table follows the last of those that come before it in the reader's order.
        int rank = RigKeys.Tables.ToList().IndexOf(change.Table);
        SyntaxNode? above = document.Tables
            .Where(t => RigKeys.Tables.ToList()
                .FindIndex(n => n.Replace("[]", "", StringComparison.Ordinal) == NameOf(t.Name)) < rank)
            .Select(t => t.Items.LastOrDefault() is { } lastItem ? (SyntaxNode)lastItem.Value! : t.Name!)
            .LastOrDefault() ?? document.KeyValues.LastOrDefault()?.Value;
        string whole = $"{newLine}[{change.Table}]{newLine}{added}{newLine}";
        return above == null ? whole + text : InsertAfterLineOf(text, above, whole, newLine, pastComments: true);
    }

    // A key of a new entry of an array of tables such as [[periodic]]: the first key begins the entry at the file's
    // end.
    private static string AddToArray(DocumentSyntax document, string text, RigChange change, List<RigEditLine> lines)
    {
        string name = change.Table[..^2];
        string newLine = text.Contains("\r\n", StringComparison.Ordinal) ? "\r\n" : "\n";
        string added = $"{change.Key} = {change.Value}" + (change.Comment == null ? "" : $"   # {change.Comment}; new");
        lines.Add(new RigEditLine($"{name}.{change.Key}", null, added));
        TableSyntaxBase? last = document.Tables.LastOrDefault(t => t is TableArraySyntax && NameOf(t.Name) == name);
        if (last != null && last.Items.All(i => NameOf(i.Key) != change.Key))
        {
            return InsertAfterLineOf(text, last.Items.Last().Value!, added + newLine, newLine);
        }

        string lead = text.Length > 0 && text[^1] != '\n' ? newLine : string.Empty;
        return $"{text}{lead}{newLine}[[{name}]]{newLine}{added}{newLine}";
    }

    private static string Replace(string file, string text, KeyValueSyntax item, RigChange change,
        List<RigEditLine> lines)
    {
        int start = item.Value!.Span.Offset;
        int length = text.AsSpan(start, Math.Min(item.Value.Span.Length, text.Length - start)).TrimEnd().Length;
        string old = text.Substring(start, length);
        if (item.Value is ArraySyntax && old.Contains('#', StringComparison.Ordinal))
        {
            throw new RigFileException(
                $"{file}: {change.Table}.{change.Key} has comments inside its list, which would be lost; the file "
                + $"is left as it is. Write by hand: {change.Key} = {change.Value}");
        }

        int end = EndOfLine(text, start + length);
        string rest = OwnComment().Replace(text[(start + length)..end], string.Empty);
        if (change.Comment != null)
        {
            string gap = rest.Trim().Length == 0 ? "   " : rest.TrimEnd() + "  ";
            rest = $"{gap}# {change.Comment}; was {Spaces().Replace(old, " ")}";
        }

        int lineStart = text.LastIndexOf('\n', Math.Max(0, start - 1)) + 1;
        string after = string.Concat(text.AsSpan(lineStart, start - lineStart), change.Value, rest);
        lines.Add(new RigEditLine($"{change.Table}.{change.Key}", text[lineStart..end], after));
        return string.Concat(text.AsSpan(0, lineStart), after, text.AsSpan(end));
    }

    // After the line on which a node ends. A run of comment lines right below stays with what is above it when a blank
    // line or the end of the file parts it from what follows.
    private static string InsertAfterLineOf(string text, SyntaxNode node, string what, string newLine,
        bool pastComments = false)
    {
        int end = EndOfLine(text, node.Span.Offset + text.AsSpan(node.Span.Offset,
            Math.Min(node.Span.Length, text.Length - node.Span.Offset)).TrimEnd().Length);
        int at = NextLine(text, end);
        for (int look = at; pastComments && look <= text.Length; look = NextLine(text, EndOfLine(text, look)))
        {
            string line = text[look..EndOfLine(text, look)].Trim();
            if (line.Length == 0)
            {
                at = look;
                break;
            }

            if (line[0] != '#')
            {
                break;
            }
        }

        string lead = at > 0 && text[at - 1] != '\n' ? newLine : string.Empty;
        return string.Concat(text.AsSpan(0, at), lead, what, text.AsSpan(at));
    }

    private static int EndOfLine(string text, int from)
    {
        int end = text.IndexOf('\n', from);
        return end < 0 ? text.Length : end > 0 && text[end - 1] == '\r' ? end - 1 : end;
    }

    private static int NextLine(string text, int endOfLine)
    {
        int next = text.IndexOf('\n', endOfLine);
        return next < 0 ? text.Length : next + 1;
    }

    private static string NameOf(KeySyntax? key) => key!.ToString().Trim();

    // What Note() writes, with its ending; nothing else, so that no comment of the maker's is ever taken for ours.
    [GeneratedRegex(@"\s*# (±\S+ \(1 sigma[^)#]*\),|exact by) \w+ calibration \d{4}-\d\d-\d\d; (was [^#]*|new)$")]
    private static partial Regex OwnComment();

    [GeneratedRegex(@"^(\w+)\[(\d+)\]$")]
    private static partial Regex ArrayEntry();

    [GeneratedRegex(@"\s+")]
    private static partial Regex Spaces();
}
