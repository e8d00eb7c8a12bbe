using Hourhinge.Numerics;
using Xunit.Abstractions;

namespace Hourhinge.Tests.Host.Numerics;

/// <summary>
/// The fitter against certified values of the NIST Statistical Reference Datasets (StRD), National Institute of
/// Standards and Technology: nonlinear regression Misra1a (lower difficulty) and Rat42 (higher), from both of NIST's
/// starting points; linear regression Norris. https://www.itl.nist.gov/div898/strd/
/// </summary>
public class NistReferenceTests(ITestOutputHelper output)
{
    private static readonly double[] _misraX =
        [77.6, 114.9, 141.1, 190.8, 239.9, 289.0, 332.8, 378.4, 434.8, 477.3, 536.8, 593.1, 689.1, 760.0];
    private static readonly double[] _misraY =
        [10.07, 14.73, 17.94, 23.93, 29.61, 35.18, 40.02, 44.82, 50.76, 55.05, 61.01, 66.40, 75.47, 81.78];
    private static readonly double[] _ratX = [9, 14, 21, 28, 42, 57, 63, 70, 79];
    private static readonly double[] _ratY = [8.930, 10.800, 18.590, 22.330, 39.350, 56.110, 61.730, 64.620, 67.080];

    private static readonly double[] _norrisX =
    [
        0.2, 337.4, 118.2, 884.6, 10.1, 226.5, 666.3, 996.3, 448.6, 777.0, 558.2, 0.4, 0.6, 775.5, 666.9, 338.0,
        447.5, 11.6,
        556.0, 228.1, 995.8, 887.6, 120.2, 0.3, 0.3, 556.8, 339.1, 887.2, 999.0, 779.0, 11.1, 118.3, 229.2, 669.1,
        448.9, 0.5,
    ];

    private static readonly double[] _norrisY =
    [
        0.1, 338.8, 118.1, 888.0, 9.2, 228.1, 668.5, 998.5, 449.1, 778.9, 559.2, 0.3, 0.1, 778.1, 668.8, 339.3,
        448.9, 10.8,
        557.7, 228.3, 998.0, 888.8, 119.6, 0.3, 0.6, 557.6, 339.3, 888.0, 998.5, 778.9, 10.2, 117.6, 228.9, 668.4,
        449.2, 0.2,
    ];

    [Theory]
    [InlineData(500, 0.0001)]
    [InlineData(250, 0.0005)]
    public void Misra1a(double b1, double b2) => Check(
        _misraX, _misraY, (x, b) => b[0] * (1 - Math.Exp(-b[1] * x)), [b1, b2],
        [2.3894212918E+02, 5.5015643181E-04], [2.7070075241E+00, 7.2668688436E-06], 1.2455138894E-01);

    [Theory]
    [InlineData(100, 1, 0.1)]
    [InlineData(75, 2.5, 0.07)]
    public void Rat42(double b1, double b2, double b3) => Check(
        _ratX, _ratY, (x, b) => b[0] / (1 + Math.Exp(b[1] - (b[2] * x))), [b1, b2, b3],
        [7.2462237576E+01, 2.6180768402E+00, 6.7359200066E-02],
        [1.7340283401E+00, 8.8295217536E-02, 3.4465663377E-03], 8.0565229338E+00);

    [Fact]
    public void Norris() => Check(
        _norrisX, _norrisY, (x, b) => b[0] + (b[1] * x), [1, 2],
        [-0.262323073774029, 1.00211681802045], [0.232818234301152, 0.429796848199937E-03], 26.6173985294224);

    private void Check(double[] x, double[] y, Func<double, double[], double> model, double[] start, double[] certified,
        double[] deviation, double sumOfSquares)
    {
        RobustFit fit = RobustFit.Solve(
            b => [.. x.Select((v, i) => y[i] - model(v, b))],
            start, [.. start.Select(Math.Abs)], double.PositiveInfinity);
        Assert.True(fit.Converged);
        for (int i = 0; i < certified.Length; i++)
        {
            double value = Math.Abs((fit.Parameters[i] / certified[i]) - 1);
            double sigma = Math.Abs((fit.Sigma(i) / deviation[i]) - 1);
            output.WriteLine($"b{i + 1}: relative difference {value:E1}, standard deviation {sigma:E1}");
            Assert.InRange(value, 0, 1e-7);
            Assert.InRange(sigma, 0, 1e-6);
        }

        Assert.InRange(Math.Abs((fit.Residuals.Sum(r => r * r) / sumOfSquares) - 1), 0, 1e-9);
    }
}
