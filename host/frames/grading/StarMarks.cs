// A frame's brighter stars in a few bytes each, so that the frames of a run can be compared with one another without
// their pixels, also from the state file.
using System.Runtime.InteropServices;
using Hourhinge.Frames.Stars;

namespace Hourhinge.Frames.Grading;

/// <summary>What a run's comparison needs of one star.</summary>
/// <param name="X">Column, px.</param>
/// <param name="Y">Row, px.</param>
/// <param name="Flux">Light, file's units; see <see cref="Star.FittedFlux"/>.</param>
/// <param name="Snr">Signal to noise.</param>
/// <param name="Cxx">Second moment along x, px².</param>
/// <param name="Cyy">Second moment along y, px².</param>
/// <param name="Cxy">Mixed second moment, px².</param>
[StructLayout(LayoutKind.Sequential)]
public readonly record struct StarMark(float X, float Y, float Flux, float Snr, float Cxx, float Cyy, float Cxy)
{
    /// <summary>The star as matching takes it.</summary>
    internal Star ToStar() => new(X, Y, Flux, 0, Snr, Cxx, Cyy, Cxy, StarCautions.None);
}

/// <summary>Packs marks into text, little-endian floats in base 64.</summary>
public static class StarMarks
{
    /// <summary>Marks kept of a frame.</summary>
    public const int MaxCount = 400;

    /// <summary>Packs the stars' marks.</summary>
    public static string Pack(IEnumerable<Star> stars)
    {
        StarMark[] marks = [.. stars.Take(MaxCount).Select(s => new StarMark((float)s.X, (float)s.Y,
            (float)(s.FittedFlux > 0 ? s.FittedFlux : s.Flux), (float)s.Snr, (float)s.Cxx, (float)s.Cyy,
            (float)s.Cxy))];
        return Convert.ToBase64String(MemoryMarshal.AsBytes(marks.AsSpan()));
    }

    /// <summary>Unpacks; nothing from a text that is no packing.</summary>
    public static StarMark[] Unpack(string packed)
    {
        byte[] bytes = new byte[packed.Length];
        return Convert.TryFromBase64String(packed, bytes, out int n)
            ? MemoryMarshal.Cast<byte, StarMark>(bytes.AsSpan(0, n)).ToArray()
            : [];
    }
}
