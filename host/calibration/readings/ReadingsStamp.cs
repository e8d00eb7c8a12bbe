// Which readings, and from when: the rig file keeps it beside each correction.

using System.Globalization;
using System.Text;
using System.Text.RegularExpressions;
using Hourhinge.SharedMath.Profile;

namespace Hourhinge.Calibration.Readings;

/// <summary>Identifies readings.</summary>
/// <param name="Source">File or folder, for messages.</param>
/// <param name="Digest">CRC-32 of their content, 8 hexadecimal digits.</param>
/// <param name="TimeUtc">When they were taken, UTC.</param>
public sealed partial record ReadingsStamp(string Source, string Digest, DateTime TimeUtc)
{
    /// <summary>The time as text, to the second.</summary>
    public string TimeText => TimeUtc.ToString("yyyy-MM-dd'T'HH:mm:ss'Z'", CultureInfo.InvariantCulture);

    /// <summary>Readings as text: their time is a comment "# measured 2026-11-25T18:00:00Z", or else the time at which
    /// the file was written.</summary>
    /// <param name="source">File name for messages.</param>
    /// <param name="text">Its text.</param>
    /// <param name="fileTimeUtc">Time at which the file was written.</param>
    public static ReadingsStamp OfText(string source, string text, DateTime fileTimeUtc)
    {
        byte[] bytes = Encoding.UTF8.GetBytes(text);
        Match comment = Measured().Match(text);
        bool told = DateTime.TryParse(comment.Groups[1].Value, CultureInfo.InvariantCulture,
            DateTimeStyles.AssumeUniversal | DateTimeStyles.AdjustToUniversal, out DateTime measured);
        return new ReadingsStamp(source, Hex(Crc32.Of(bytes, 0, bytes.Length)), told ? measured : fileTimeUtc);
    }

    /// <summary>Readings that are files, such as frames: names, lengths, and the contents of the first and the last;
    /// the time is that of the newest file.</summary>
    /// <param name="folder">Folder; it exists.</param>
    public static ReadingsStamp OfFolder(DirectoryInfo folder)
    {
        FileInfo[] files = [.. folder.EnumerateFiles().OrderBy(f => f.Name, StringComparer.Ordinal)];
        var content = new MemoryStream();
        content.Write(Encoding.UTF8.GetBytes(string.Join('\n', files.Select(f => $"{f.Name} {f.Length}"))));
        foreach (FileInfo file in files.Take(1).Concat(files.TakeLast(1)))
        {
            byte[] bytes = File.ReadAllBytes(file.FullName);
            content.Write(BitConverter.GetBytes((uint)Crc32.Of(bytes, 0, bytes.Length)));
        }

        byte[] all = content.ToArray();
        return new ReadingsStamp(folder.ToString(), Hex(Crc32.Of(all, 0, all.Length)),
            files.Select(f => f.LastWriteTimeUtc).DefaultIfEmpty(DateTime.UtcNow).Max());
    }

    private static string Hex(long crc) => ((uint)crc).ToString("x8", CultureInfo.InvariantCulture);

    [GeneratedRegex(@"^\s*#\s*measured\s+(\d{4}-\d\d-\d\dT[0-9:.]+Z?)\s*$", RegexOptions.Multiline)]
    private static partial Regex Measured();
}
