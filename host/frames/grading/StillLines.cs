// Lines that lie in several frames at the same place belong to the foreground: edges of walls, masts, wires. An
// aircraft or a satellite crosses one frame, or goes on in the next at another place.
using System.Runtime.InteropServices;
using Hourhinge.Frames.Stars;

namespace Hourhinge.Frames.Grading;

/// <summary>A straight line's ends, px.</summary>
[StructLayout(LayoutKind.Sequential)]
internal readonly record struct LineMark(float X1, float Y1, float X2, float Y2)
{
    public double LengthPx => Math.Sqrt(Math.Pow(X2 - X1, 2) + Math.Pow(Y2 - Y1, 2));
}

internal static class StillLines
{
    private const int MaxCount = 40;
    private const double MinLengthPx = 20;
    private const double SamePlacePx = 8;
    private const double SameAngleRad = 10 * Math.PI / 180;

    /// <summary>Packs the longer streaks as text, like <see cref="StarMarks"/>.</summary>
    public static string Pack(IEnumerable<Streak> streaks)
    {
        LineMark[] lines = [.. streaks.Where(s => s.LengthPx > MinLengthPx).Take(MaxCount)
            .Select(s => new LineMark((float)s.X1, (float)s.Y1, (float)s.X2, (float)s.Y2))];
        return Convert.ToBase64String(MemoryMarshal.AsBytes(lines.AsSpan()));
    }

    /// <summary>The longest of a frame's lines that no other frame has; 0 for none.</summary>
    /// <param name="lines">All frames' lines.</param>
    /// <param name="frame">Index of the frame.</param>
    /// <param name="longestPx">Its longest thin line: longer ones are walls and hills.</param>
    public static double LongestMoving(IReadOnlyList<LineMark[]> lines, int frame, double longestPx) =>
        lines[frame].Where(l => l.LengthPx <= longestPx + 1
                && !lines.Where((_, k) => k != frame).Any(others => others.Any(o => IsSame(l, o))))
            .Select(l => l.LengthPx).DefaultIfEmpty(0).Max();

    /// <summary>Unpacks; nothing from a text that is no packing.</summary>
    public static LineMark[] Unpack(string packed)
    {
        byte[] bytes = new byte[packed.Length];
        return Convert.TryFromBase64String(packed, bytes, out int n)
            ? MemoryMarshal.Cast<byte, LineMark>(bytes.AsSpan(0, n)).ToArray()
            : [];
    }

    // Threshold and noise break an edge into other parts in every frame: one line's middle lies on the other.
    private static bool IsSame(LineMark a, LineMark b)
    {
        double turn = Math.Atan2(a.Y2 - a.Y1, a.X2 - a.X1) - Math.Atan2(b.Y2 - b.Y1, b.X2 - b.X1);
        return Math.Abs(Math.IEEERemainder(turn, Math.PI)) < SameAngleRad && (MidpointOn(a, b) || MidpointOn(b, a));
    }

    private static bool MidpointOn(LineMark a, LineMark b)
    {
        double length = Math.Max(b.LengthPx, 1), ux = (b.X2 - b.X1) / length, uy = (b.Y2 - b.Y1) / length;
        double dx = ((a.X1 + a.X2) / 2) - b.X1, dy = ((a.Y1 + a.Y2) / 2) - b.Y1;
        double along = (dx * ux) + (dy * uy), across = Math.Abs((dy * ux) - (dx * uy));
        return across < SamePlacePx && along > -SamePlacePx && along < length + SamePlacePx;
    }
}
