namespace System;

/// <summary>Signatures of nanoFramework.System.Math. Compile-time only: no body here ever runs.</summary>
public static class Math
{
    public const double PI = 3.14159265358979323846;
    public const double E = 2.7182818284590452354;

    public static double Abs(double value) => throw new NotImplementedException();
    public static int Abs(int value) => throw new NotImplementedException();
    public static double Acos(double d) => throw new NotImplementedException();
    public static double Asin(double d) => throw new NotImplementedException();
    public static double Atan(double d) => throw new NotImplementedException();
    public static double Atan2(double y, double x) => throw new NotImplementedException();
    public static double Ceiling(double d) => throw new NotImplementedException();
    public static double Cos(double d) => throw new NotImplementedException();
    public static double Exp(double d) => throw new NotImplementedException();
    public static double Floor(double d) => throw new NotImplementedException();
    public static double Log(double d) => throw new NotImplementedException();
    public static double Max(double val1, double val2) => throw new NotImplementedException();
    public static double Min(double val1, double val2) => throw new NotImplementedException();
    public static double Pow(double x, double y) => throw new NotImplementedException();
    public static double Round(double a) => throw new NotImplementedException();
    public static double Sin(double a) => throw new NotImplementedException();
    public static double Sqrt(double d) => throw new NotImplementedException();
    public static double Tan(double a) => throw new NotImplementedException();
}
