using System.Collections.Concurrent;
using System.Diagnostics;
using System.Globalization;
using Hourhinge.Numerics;
using Hourhinge.Recognition;
using Xunit.Abstractions;

namespace Hourhinge.Tests.Host.Recognition;

/// <summary>Recognition over random fields and over patterns that no sky has. HOURHINGE_FIELDS=2000 for the full size;
/// random patterns are five times as many. CPU times are those of the process: run the class alone to read them.
/// </summary>
public class FieldCampaign(ITestOutputHelper output)
{
    private static readonly int _fields =
        int.Parse(Environment.GetEnvironmentVariable("HOURHINGE_FIELDS") ?? "40", CultureInfo.InvariantCulture);

    /// <summary>12 to 400 mm, APS-C and full frame, distortion to 3 %, mirror images, noise, missing and false sources,
    /// up to 85 % hidden. Right: 99 % of the fields with 12 stars left. Wrong: none.</summary>
    [Theory]
    [InlineData(false)]
    [InlineData(true)]
    public void Fields_are_recognised(bool scaleKnown)
    {
        int tried = 0, right = 0;
        var wrong = new List<string>();
        var missed = new List<string>();
        var cpu = new List<(double Ms, int Seed)>();
        // The first field builds the tables, which a program does once.
        DrawnField first = DrawnField.Random(new Random(-1));
        FieldRecognizer.Recognize(first.Sources, first.Truth.Width, first.Truth.Height,
            new FieldHint { FocalLengthPx = first.Truth.FocalLengthPx });
        for (int seed = 0; seed < _fields; seed++)
        {
            DrawnField field = DrawnField.Random(new Random(seed));
            // The name of a lens is good to 5 % or so; hints are off by up to 10 % here.
            FieldHint? hint = !scaleKnown ? null : new FieldHint
            {
                FocalLengthPx = field.Truth.FocalLengthPx * (0.9 + (0.2 * (seed % 11) / 10)),
            };
            TimeSpan before = Process.GetCurrentProcess().TotalProcessorTime;
            RecognizedField? found =
                FieldRecognizer.Recognize(field.Sources, field.Truth.Width, field.Truth.Height, hint);
            cpu.Add(((Process.GetCurrentProcess().TotalProcessorTime - before).TotalMilliseconds, seed));
            string what = $"seed {seed}: {field.LensMm:0} mm on {field.SensorWidthMm} mm, {field.RealSources} stars of "
                + $"{field.Sources.Count} sources, {100 * field.HiddenShare:0} % hidden";
            if (found is null)
            {
                if (field.RealSources >= 12)
                {
                    tried++;
                    missed.Add(what);
                }

                continue;
            }

            tried += field.RealSources >= 12 ? 1 : 0;
            right += field.RealSources >= 12 ? 1 : 0;
            double offPx = found.Projection.Centre.SeparationFrom(field.Truth.Centre).Radians
                * field.Truth.FocalLengthPx;
            // The hidden side of a frame is extrapolated: errors as stated, and never another field.
            if (offPx > 10 + (6 * found.CentreSigma.Radians * field.Truth.FocalLengthPx)
                || found.Projection.Mirrored != field.Truth.Mirrored)
            {
                wrong.Add($"{what}: centre off by {offPx:0} px");
            }
        }

        cpu.Sort();
        output.WriteLine($"scale {(scaleKnown ? "known to 10 %" : "unknown")}: {right} of {tried} fields with 12 stars "
            + $"recognised, {wrong.Count} wrong; CPU median {cpu[cpu.Count / 2].Ms:0} ms, 99 % "
            + $"{cpu[cpu.Count * 99 / 100].Ms:0} ms, longest "
            + string.Join(", ", cpu.TakeLast(8).Select(c => $"{c.Ms:0} ms (seed {c.Seed})")));
        missed.ForEach(m => output.WriteLine($"missed: {m}"));
        Assert.Empty(wrong);
        Assert.True(right >= Math.Floor(0.99 * tried), string.Join("\n", missed));
    }

    /// <summary>Points without a sky: evenly spread, in clumps, on a lattice of compression blocks, along
    /// edges.</summary>
    [Fact]
    public void Random_patterns_are_not_recognised()
    {
        int step = _fields < 1000 ? 20 : 1, count = _fields * 5 / step;
        var accepted = new ConcurrentQueue<string>();
        TimeSpan before = Process.GetCurrentProcess().TotalProcessorTime;
        Parallel.For(0, count, new ParallelOptions { MaxDegreeOfParallelism = Environment.ProcessorCount }, i =>
        {
            int seed = i * step;
            ImageStar[] points = Points(new Random(seed + 1_000_000), i % 4);
            if (FieldRecognizer.Recognize(points, 6000, 4000) is { } found)
            {
                accepted.Enqueue(
                    $"seed {seed}: {found.Matches.Count} of {points.Length}, ln B {found.LogBayesFactor:0.0}");
            }
        });
        double cpuMs = (Process.GetCurrentProcess().TotalProcessorTime - before).TotalMilliseconds;
        output.WriteLine(
            $"{count} random patterns, {accepted.Count} recognised; CPU {cpuMs / count:0} ms each on average");
        Assert.Empty(accepted);
    }

    /// <summary>Standard errors hold: pulls of centre, roll, focal length over fields that are half visible or
    /// more.</summary>
    [Fact]
    public void Standard_errors_hold()
    {
        var pulls = new List<double>[] { [], [], [] };
        for (int seed = 0; seed < _fields; seed++)
        {
            DrawnField field = DrawnField.Random(new Random(seed + 50_000));
            var hint = new FieldHint { FocalLengthPx = field.Truth.FocalLengthPx };
            if (field.RealSources < 30 || FieldRecognizer.Recognize(
                field.Sources, field.Truth.Width, field.Truth.Height, hint) is not { } found)
            {
                continue;
            }

            pulls[0].Add(found.Projection.Centre.SeparationFrom(field.Truth.Centre).Radians
                / found.CentreSigma.Radians);
            Angle roll = (found.Projection.Roll - field.Truth.Roll).WrappedSigned();
            // Roll refers to north at the centre: the meridians of two centres differ.
            Angle turn = (found.Projection.Centre.RightAscension - field.Truth.Centre.RightAscension).WrappedSigned()
                * field.Truth.Centre.Declination.Sin();
            pulls[1].Add(Math.Min(Math.Abs((roll - turn).Radians), Math.Abs((roll + turn).Radians))
                / found.RollSigma.Radians);
            pulls[2].Add(Math.Abs(found.Projection.FocalLengthPx - field.Truth.FocalLengthPx)
                / found.FocalLengthSigmaPx);
        }

        string[] names = ["centre", "roll", "focal length"];
        for (int k = 0; k < 3; k++)
        {
            double rms = Math.Sqrt(pulls[k].Average(p => Math.Min(p, 6) * Math.Min(p, 6)));
            output.WriteLine($"{names[k]}: {pulls[k].Count} fields, rms of error over standard error {rms:0.00}");
            Assert.InRange(rms, 0.4, 1.6);
        }
    }

    private static ImageStar[] Points(Random random, int kind)
    {
        int count = random.Next(20, 400);
        (double X, double Y) clump = (0, 0);
        return [.. Enumerable.Range(0, count).Select(i =>
        {
            double x = random.NextDouble() * 6000, y = random.NextDouble() * 4000;
            if (kind == 1)
            {
                clump = i % 20 == 0 ? (x, y) : clump;
                (x, y) = (clump.X + (60 * DrawnField.Gauss(random)), clump.Y + (60 * DrawnField.Gauss(random)));
            }
            else if (kind == 2)
            {
                (x, y) = ((Math.Floor(x / 8) * 8) + 3.5, (Math.Floor(y / 8) * 8) + 3.5);
            }
            else if (kind == 3 && i % 3 != 0)
            {
                // Edges of buildings: three straight lines.
                y = 3000 + (((i % 7) - 3) * 0.2 * (x - 3000)) + (2 * DrawnField.Gauss(random));
            }

            return new ImageStar(x, y, Math.Pow(10, 2 * random.NextDouble()));
        })];
    }
}
