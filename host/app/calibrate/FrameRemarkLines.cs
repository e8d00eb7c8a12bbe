using Hourhinge.Frames.Matching;

namespace Hourhinge.App.Calibrate;

/// <summary>Lines about single frames; consecutive frames with the same problem share one line.</summary>
internal static class FrameRemarkLines
{
    /// <summary>Lines in the order of the files' names.</summary>
    public static IEnumerable<string> Of(IEnumerable<FrameNote> notes)
    {
        FrameNote[] sorted = [.. notes.OrderBy(n => n.Name, StringComparer.Ordinal)];
        for (int i = 0; i < sorted.Length;)
        {
            int next = i + 1;
            while (next < sorted.Length && Kind(sorted[next]) == Kind(sorted[i]))
            {
                next++;
            }

            string more = next - i > 1 ? $" to {sorted[next - 1].Name} ({next - i} frames)" : "";
            yield return $"{sorted[i].Name}{more}: {sorted[i].Reason}";
            i = next;
        }
    }

    // Numbers within a reason differ from frame to frame; what comes before its colon does not.
    private static string Kind(FrameNote note) => note.Reason.Split(':')[0];
}
