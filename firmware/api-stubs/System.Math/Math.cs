// Signatures of nanoFramework.System.Math. Compile-time only: no body here ever runs. It has no overloads for long.

namespace System;

/// <summary>The functions that the runtime's mathematics library really has.</summary>
public static class Math
{
    public const double PI = 3.14159265358979323846;
    public const double E = 2.7182818284590452354;

    public static int Abs(int val) => throw new NotImplementedException();

    public static double Abs(double val) => throw new NotImplementedException();

    public static float Abs(float val) => throw new NotImplementedException();

    public static double Acos(double d) => throw new NotImplementedException();

    public static double Asin(double d) => throw new NotImplementedException();

    public static double Atan(double d) => throw new NotImplementedException();

    public static double Atan2(double y, double x) => throw new NotImplementedException();

    public static double Ceiling(double d) => throw new NotImplementedException();

    public static double Cos(double a) => throw new NotImplementedException();

    public static double Cosh(double a) => throw new NotImplementedException();

    public static double Exp(double d) => throw new NotImplementedException();

    public static double Floor(double d) => throw new NotImplementedException();

    public static double IEEERemainder(double x, double y) => throw new NotImplementedException();

    public static double Log(double d) => throw new NotImplementedException();

    public static double Log10(double d) => throw new NotImplementedException();

    public static int Max(int val1, int val2) => throw new NotImplementedException();

    public static double Max(double x, double y) => throw new NotImplementedException();

    public static int Min(int val1, int val2) => throw new NotImplementedException();

    public static double Min(double x, double y) => throw new NotImplementedException();

    public static float Min(float x, float y) => throw new NotImplementedException();

    public static double Pow(double x, double y) => throw new NotImplementedException();

    public static double Round(double d) => throw new NotImplementedException();

    public static int Sign(double value) => throw new NotImplementedException();

    public static int Sign(float value) => throw new NotImplementedException();

    public static double Sin(double a) => throw new NotImplementedException();

    public static double Sinh(double value) => throw new NotImplementedException();

    public static double Sqrt(double d) => throw new NotImplementedException();

    public static double Tan(double a) => throw new NotImplementedException();

    public static double Tanh(double value) => throw new NotImplementedException();

    public static double Truncate(double d) => throw new NotImplementedException();
}
