// Finds the answer to one request among whatever else a port delivers.

using System.Runtime.InteropServices;
using System.Text;

namespace Hourhinge.App.Link;

/// <summary>
/// Reads lines until one contains the request's mark. Other peers' answers, boot text and noise are skipped. A
/// deadline and a size limit hold for each request, whatever arrives.
/// </summary>
internal sealed class AnswerReader(LinkPort port)
{
    /// <summary>Longest answer: a block of 4096 bytes; the list of headers is twice as long.</summary>
    public const int MaxAnswerBytes = 16384;

    // What a port may deliver besides one answer, bytes: 20 s of a full line at 115200 baud.
    private const int MaxForeignBytes = 1 << 18;

    private readonly byte[] _buffer = new byte[4096];
    private int _at;
    private int _count;
    private long _deadline;

    /// <summary>The lines that arrived since the request and were no answer to it; not more than an answer's
    /// length.</summary>
    public List<byte> Foreign { get; } = [];

    /// <summary>Complete lines that came before the answer to the last request.</summary>
    public List<byte[]> Skipped { get; } = [];

    /// <summary>Waits for an answer.</summary>
    /// <param name="mark">What the answer begins with; what is before it in the line is ignored.</param>
    /// <param name="marks">How often the mark is repeated, with semicolons between: neither more nor less.</param>
    /// <param name="waitMs">Time for the complete answer, ms.</param>
    /// <returns>The bytes after the marks and their semicolon, without the newline, empty when there are none; null
    /// when no answer came in time.</returns>
    public byte[]? Find(string mark, int marks, int waitMs)
    {
        _deadline = Environment.TickCount64 + waitMs;
        Foreign.Clear();
        Skipped.Clear();
        byte[] run = Encoding.ASCII.GetBytes(string.Join(';', Enumerable.Repeat(mark, marks)));
        byte[] before = Encoding.ASCII.GetBytes(mark + ";");
        byte[] after = Encoding.ASCII.GetBytes(";" + mark);
        int foreign = 0;
        while (foreign <= MaxForeignBytes)
        {
            List<byte>? line = ReadLine();
            if (line == null)
            {
                return null;
            }

            ReadOnlySpan<byte> bytes = CollectionsMarshal.AsSpan(line);
            int at = bytes.IndexOf(run);
            if (at >= 0 && !bytes[..at].EndsWith(before) && !bytes[(at + run.Length)..].StartsWith(after))
            {
                return Complete(line[Math.Min(at + run.Length + 1, line.Count)..]);
            }

            foreign += line.Count + 1;
            KeepSample(line);
            Skipped.Add([.. line]);
        }

        return null;
    }

    /// <summary>The last line that arrives in a time, whatever it is; null when none does.</summary>
    public string? LastLine(int waitMs)
    {
        _deadline = Environment.TickCount64 + waitMs;
        string? last = null;
        for (List<byte>? line = ReadLine(); line != null; line = ReadLine())
        {
            last = line.Count > 0 ? Encoding.Latin1.GetString(CollectionsMarshal.AsSpan(line)) : last;
        }

        return last;
    }

    // A newline inside a block is data.
    private byte[]? Complete(List<byte> answer)
    {
        int count = BlockEnd(answer) - answer.Count;
        if (count > 0)
        {
            answer.Add((byte)'\n');
            for (count--; count > 0; count--)
            {
                int b = ReadByte();
                if (b < 0)
                {
                    return null;
                }

                answer.Add((byte)b);
            }

            List<byte>? rest = ReadLine();
            if (rest == null)
            {
                return null;
            }

            answer.AddRange(rest);
        }

        if (answer.Count > 0 && answer[^1] == '\r' && BlockEnd(answer) < answer.Count)
        {
            answer.RemoveAt(answer.Count - 1);
        }

        return [.. answer];
    }

    // Index behind the block that an answer begins with; 0 where it begins with none, or with one that is too long.
    private static int BlockEnd(List<byte> answer)
    {
        if (answer.Count < 2 || answer[0] != '#' || answer[1] is < (byte)'1' or > (byte)'9')
        {
            return 0;
        }

        int digits = answer[1] - '0';
        int length = 0;
        for (int i = 2; i < 2 + digits; i++)
        {
            if (i >= answer.Count || answer[i] is < (byte)'0' or > (byte)'9' || length > MaxAnswerBytes)
            {
                return 0;
            }

            length = (length * 10) + answer[i] - '0';
        }

        return length > MaxAnswerBytes ? 0 : 2 + digits + length;
    }

    // Without the newline. Of a line that is too long only the end is kept: an answer may follow noise.
    private List<byte>? ReadLine()
    {
        var line = new List<byte>();
        for (int b = ReadByte(); b != '\n'; b = ReadByte())
        {
            if (b < 0)
            {
                KeepSample(line);
                return null;
            }

            line.Add((byte)b);
            if (line.Count > 2 * MaxAnswerBytes)
            {
                KeepSample(line);
                line.RemoveRange(0, MaxAnswerBytes);
            }
        }

        return line;
    }

    private int ReadByte()
    {
        long left = _deadline - Environment.TickCount64;
        if (left <= 0)
        {
            return -1;
        }

        if (_at == _count)
        {
            _at = 0;
            _count = port.Read(_buffer, (int)left);
        }

        return _at < _count ? _buffer[_at++] : -1;
    }

    private void KeepSample(List<byte> line)
    {
        int room = (2 * MaxAnswerBytes) - Foreign.Count;
        if (room > 0 && line.Count > 0)
        {
            Foreign.AddRange(line.Take(room - 1));
            Foreign.Add((byte)'\n');
        }
    }
}
