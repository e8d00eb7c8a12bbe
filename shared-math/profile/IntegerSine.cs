// An integer sine, for the periodic terms of a profile.

namespace Hourhinge.SharedMath.Profile;

/// <summary>Sine by its Taylor series to the 13th power in Q30: error below 1e-8 over the whole turn.</summary>
public static class IntegerSine
{
    // Coefficients of sin(π/2 · z), z in quarter turns, times 2^30: (π/2)^k / k!, alternating.
    private const long C1 = 1686629713, C3 = 693598668, C5 = 85569306, C7 = 5026995, C9 = 172272, C11 = 3864,
        C13 = 61;

    /// <summary>Sine of an angle in 2^-32 of a turn, times 2^30.</summary>
    public static long Q30(uint turn)
    {
        uint quarter = turn >> 30;
        long z = turn & 0x3FFFFFFF;
        if ((quarter & 1) != 0)
        {
            z = (1L << 30) - z;
        }

        long zz = (z * z) >> 30;
        long sum = C11 - ((C13 * zz) >> 30);
        sum = C9 - ((sum * zz) >> 30);
        sum = C7 - ((sum * zz) >> 30);
        sum = C5 - ((sum * zz) >> 30);
        sum = C3 - ((sum * zz) >> 30);
        sum = C1 - ((sum * zz) >> 30);
        long sine = (sum * z) >> 30;
        return quarter >= 2 ? -sine : sine;
    }
}
