// Lines of output, one way on the controller's runtime and one way on .NET. Only integers and fixed texts go out: the
// small runtime's own formatting of numbers with a fraction is not to be trusted.

#nullable disable

using System.Diagnostics;

namespace Hourhinge.DeviceTests.Programs;

/// <summary>Where a program prints.</summary>
public static class Out
{
#if NANOFRAMEWORK
    /// <summary>Prints a line.</summary>
    public static void Line(string text)
    {
        Debug.WriteLine(text);
    }
#else
    /// <summary>The lines printed on .NET.</summary>
    public static System.Collections.Generic.List<string> Lines { get; } = new();

    /// <summary>Keeps a line.</summary>
    public static void Line(string text)
    {
        Debug.Assert(text != null);
        Lines.Add(text);
    }
#endif
}

/// <summary>What the programs work on; set by their caller.</summary>
public static class Inputs
{
    /// <summary>The profiles of the example rigs.</summary>
    public static byte[][] Profiles;

    /// <summary>True for the programs' full size.</summary>
    public static bool IsFullSize;
}

/// <summary>Numbers without a pattern, the same on both sides. Constants from Knuth's MMIX, from memory.</summary>
public sealed class Numbers
{
    private ulong _state;

    /// <summary>A sequence.</summary>
    public Numbers(uint seed)
    {
        _state = seed;
    }

    /// <summary>A number of 0 to below a limit.</summary>
    public long Below(long limit)
    {
        _state = unchecked((_state * 6364136223846793005UL) + 1442695040888963407UL);
        return (long)((_state >> 11) % (ulong)limit);
    }
}
