// The drive profile in memory: integers only. Compiled by ProfileCompiler, evaluated by ProfileEvaluator, written and
// read by ProfileCodec. Byte layout and meaning: shared-math/PROFILE.md.

using Hourhinge.SharedMath.Rig;

namespace Hourhinge.SharedMath.Profile;

/// <summary>
/// Where the motor must be at every moment since the start. A position is in 1/65536 of a drive count
/// ("Q16 counts"); a time is in microseconds of true (trimmed) time.
/// </summary>
public sealed class DriveProfile
{
    /// <summary>Bits below the point in a position.</summary>
    public const int FractionBits = 16;

    /// <summary>One drive count, in Q16.</summary>
    public const long OneCount = 1L << FractionBits;

    /// <summary>Longest segment, ms: keeps time × 2^30 within 63 bits.</summary>
    public const int MaxSegmentMs = 7200000;

    /// <summary>Coefficients stay below this, 2 million counts: the last bit of u is then at most 0.002
    /// count.</summary>
    public const long CoefficientLimit = 1L << 37;

    /// <summary>Most segments in a profile.</summary>
    public const int MaxSegments = 128;

    /// <summary>Formats: 1 stores corrections as explicit sines, 2 stores the periodic errors themselves.</summary>
    public const int ExplicitTerms = 1, ImplicitTerms = 2;

    /// <summary>Motor kinds, <see cref="DriveKind"/>.</summary>
    public const int Stepper = 0, DcClosedLoop = 1, DcOpenLoop = 2;

    /// <summary>
    /// Bits of <see cref="Flags"/>. ForwardOnly: a DC motor on a single transistor, which nothing can turn back.
    /// </summary>
    public const int MotorReversed = 1, HomeSwitchFitted = 2, EndSwitchFitted = 4, ReleaseWhenIdle =
        8, HingeCloses = 16,
        ForwardOnly = 32;

    /// <summary>Format, <see cref="ExplicitTerms"/> or <see cref="ImplicitTerms"/>: what the periodic terms mean, and
    /// the layout in which the profile is encoded.</summary>
    public int Version = ImplicitTerms;

    /// <summary>Rig's name, printable ASCII, at most 31 characters.</summary>
    public string RigName = string.Empty;

    /// <summary>CRC-32 of the rig file's bytes.</summary>
    public uint RigDigest;

    /// <summary>What turns the rod: <see cref="Stepper"/> and the others.</summary>
    public int DriveKind;

    /// <summary>Switches and directions, bits as above.</summary>
    public int Flags;

    /// <summary>Drive counts in <see cref="NutTurns"/> nut turns.</summary>
    public long Counts;

    /// <summary>Nut turns for <see cref="Counts"/>.</summary>
    public long NutTurns;

    /// <summary>Speed of the fast leg of a rewind, counts/s.</summary>
    public int RewindCountsPerSec;

    /// <summary>Ramp of a rewind, counts/s².</summary>
    public int RampCountsPerSec2;

    /// <summary>Fastest start and stop without a ramp (pull-in), counts/s; also the catch-up limit.</summary>
    public int PullInCountsPerSec;

    /// <summary>Speed of the slow approach to the home switch, counts/s.</summary>
    public int ApproachCountsPerSec;

    /// <summary>How far to back off from the home switch before the slow approach, counts.</summary>
    public int BackOffCounts;

    /// <summary>A rewind drives at most this many back-offs off a closed home switch.</summary>
    public const int MaxBackOffs = 8;

    /// <summary>True when so many back-offs lead beyond the end of the travel, counts.</summary>
    public bool HasLongBackOff(long endCounts) => endCounts < (long)MaxBackOffs * BackOffCounts;

    /// <summary>Clock trim, parts in 10^9: true seconds = crystal seconds × (1 + trim/10^9).</summary>
    public int ClockTrimPpb;

    /// <summary>Hinge angle of one count at the start, in 10^-6 arcsec: for dither and for reports.</summary>
    public int MicroArcsecPerCount;

    /// <summary>Segments: duration in ms.</summary>
    public int[] DurationMs = _none;

    /// <summary>Segments: position at the start, Q16 counts.</summary>
    public long[] Start = _noneLong;

    /// <summary>Segments: coefficient of u, Q16 counts, u running from 0 to 1 over the segment.</summary>
    public long[] Linear = _noneLong;

    /// <summary>Segments: coefficient of u².</summary>
    public long[] Square = _noneLong;

    /// <summary>Segments: coefficient of u³.</summary>
    public long[] Cube = _noneLong;

    /// <summary>Periodic terms: period, Q16 counts.</summary>
    public long[] PeriodQ16 = _noneLong;

    /// <summary>Periodic terms: amplitude, Q16 counts.</summary>
    public long[] AmplitudeQ16 = _noneLong;

    /// <summary>Periodic terms: phase at position 0, in 2^-32 of a cycle.</summary>
    public uint[] Phase = _noneUint;

    /// <summary>Settings of a DC drive; null for a stepper.</summary>
    public DcSettings Dc;

    /// <summary>The shutter program that is stored with the profile; null when there is none.</summary>
    public ShutterSettings Shutter;

    /// <summary>The rig that the profile was compiled from, for editing at the site; null when it did not come
    /// along.</summary>
    public RigParameters Rig;

    private static readonly int[] _none = new int[0];
    private static readonly long[] _noneLong = new long[0];
    private static readonly uint[] _noneUint = new uint[0];

    /// <summary>True when both move the motor identically, count for count: only then is a position valid for
    /// both.</summary>
    public bool MovesLike(DriveProfile other)
    {
        bool alike = DriveKind == other.DriveKind && Flags == other.Flags
            && Counts == other.Counts && NutTurns == other.NutTurns
            && DurationMs.Length == other.DurationMs.Length && PeriodQ16.Length == other.PeriodQ16.Length;
        for (int i = 0; alike && i < DurationMs.Length; i++)
        {
            alike = DurationMs[i] == other.DurationMs[i] && Start[i] == other.Start[i] && Linear[i] == other.Linear[i]
                && Square[i] == other.Square[i] && Cube[i] == other.Cube[i];
        }

        for (int i = 0; alike && i < PeriodQ16.Length; i++)
        {
            alike = Version == other.Version && PeriodQ16[i] == other.PeriodQ16[i]
                && AmplitudeQ16[i] == other.AmplitudeQ16[i]
                && Phase[i] == other.Phase[i];
        }

        return alike;
    }

    /// <summary>True when a flag bit is set.</summary>
    public bool Has(int flag) => (Flags & flag) != 0;
}
