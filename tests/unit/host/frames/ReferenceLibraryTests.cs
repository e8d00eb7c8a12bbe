// Our centroids and files against reference librarys: SEP 1.2.1 (Debian python3-sep) and astropy.io.fits
// (python3-astropy), run as they stand by tests/reference/frames/judge_*.py. Without them the tests say so and are
// skipped.
using System.Diagnostics;
using System.Globalization;
using Hourhinge.Frames.Reading;
using Hourhinge.Frames.Stars;
using Hourhinge.Tests.Support;
using Xunit.Abstractions;

namespace Hourhinge.Tests.Host.Frames;

public sealed class ReferenceLibraryTests(ITestOutputHelper output) : IDisposable
{
    private readonly DirectoryInfo _folder = Directory.CreateTempSubdirectory("judge-");

    public void Dispose() => _folder.Delete(true);

    [SkippableTheory]
    [InlineData(0.85, 0, 3)]
    [InlineData(1.2, 0, 3)]
    [InlineData(1.2, 2.5, 3)]
    [InlineData(2.0, 0, 3)]
    public void Our_centroids_are_no_worse_than_SEPs(double sigma, double trail, int frames)
    {
        string python = NeedModule("sep", "python3-sep");
        double ours = 0, theirs = 0, apart = 0;
        int n = 0, weFound = 0, theyFound = 0, all = 0;
        for (int k = 0; k < frames; k++)
        {
            var truth = TinySky.RandomStars(1600, 1200, 600, 2_000, 500_000, 100 + k, apart: 20)
                .Select(s => s with { TrailX = trail * 0.8, TrailY = trail * 0.6 }).ToList();
            string path = Path.Combine(_folder.FullName, $"j{k}.fits");
            using (FrameImage image = new TinySky(1600, 1200, 300, 200 + k).Draw(truth, sigma).Expose(hotPixels: 200))
            using (FileStream file = File.Create(path))
            {
                TestFitsFile.Write(file, image);
            }

            Run(python, "judge_sep.py", path);
            var sep = File.ReadLines(Path.ChangeExtension(path, ".sep.csv")).Skip(1)
                .Select(l => l.Split(',')).Select(f => (X: Number(f[0]), Y: Number(f[1]))).ToList();
            Assert.True(FrameReader.TryRead(path, FrameOverrides.None, out Frame? frame, out string? refusal), refusal);
            using Frame held = frame;
            StarField field = StarFinder.Find(frame.Image);
            all += truth.Count;
            foreach (TinyStar? t in truth)
            {
                Star a = field.Stars.MinBy(s => Math.Pow(s.X - t.X, 2) + Math.Pow(s.Y - t.Y, 2));
                (double X, double Y) b = sep.MinBy(s => Math.Pow(s.X - t.X, 2) + Math.Pow(s.Y - t.Y, 2));
                double da = Math.Pow(a.X - t.X, 2) + Math.Pow(a.Y - t.Y, 2), db = Math.Pow(b.X - t.X, 2)
                    + Math.Pow(b.Y - t.Y, 2);
                weFound += da < 2.25 ? 1 : 0;
                theyFound += db < 2.25 ? 1 : 0;
                if (da >= 2.25 || db >= 2.25)
                {
                    continue;
                }

                (ours, theirs, n) = (ours + da, theirs + db, n + 1);
                apart += Math.Pow(a.X - b.X, 2) + Math.Pow(a.Y - b.Y, 2);
            }
        }
        double Rms(double sum) => Math.Sqrt(sum / (2 * n));
        output.WriteLine(
            $"stars of {sigma} px sigma, trail {trail} px: found {weFound} (SEP {theyFound}) of {all}; on the {n} "
            + $"common: RMS error per axis ours {Rms(ours):F4} px, SEP {Rms(theirs):F4} px, ours against SEP "
            + $"{Rms(apart):F4} px");
        Assert.True(Rms(ours) <= Rms(theirs));
        Assert.True(weFound >= 0.97 * theyFound);
    }

    [SkippableFact]
    public void Astropy_reads_our_FITS_files_and_finds_them_in_order()
    {
        string python = NeedModule("astropy", "python3-astropy");
        double sum = 0;
        using (var counts = FrameImage.NewCounts(301, 77))
        {
            for (int y = 0; y < 77; y++)
            {
                for (int x = 0; x < 301; x++)
                {
                    sum += counts.CountsRow(y)[x] = (ushort)((x * 217) + (y * 851));
                }
            }
            using FileStream file = File.Create(Path.Combine(_folder.FullName, "counts.fits"));
            TestFitsFile.Write(file, counts,
                h => h.Add("DATE-OBS", "2025-01-31T21:15:00.5").Add("EXPTIME", 30.5).Add("OBJECT", "test's field"));
        }
        using (var floats = FrameImage.NewValues(10, 3))
        {
            for (int y = 0; y < 3; y++)
            {
                floats.ValuesRow(y).Fill(0.25f + y);
            }

            using FileStream file = File.Create(Path.Combine(_folder.FullName, "floats.fits"));
            TestFitsFile.Write(file, floats);
        }
        string said = Run(python, "judge_fits.py", Path.Combine(_folder.FullName, "counts.fits"),
            Path.Combine(_folder.FullName, "floats.fits"));
        output.WriteLine(said);
        Assert.Contains(
            $"counts.fits uint16 301 77 {sum:F1} 0.0 {(double)(((300 * 217) + (76 * 851)) % 65536):F1} "
            + "2025-01-31T21:15:00.5", said, StringComparison.Ordinal);
        Assert.Contains("floats.fits float32 10 3 37.5 0.25 2.25", said, StringComparison.Ordinal);
    }

    private static string NeedModule(string module, string package)
    {
        string? python = PythonInterpreter.With(module);
        Skip.If(python == null,
            $"SKIPPED, NOTHING WAS CHECKED: no python3 has the reference library {module} (apt-get install {package}, "
            + "or set HOURHINGE_PYTHON).");
        return python!;
    }

    private static string Run(string python, string script, params string[] arguments)
    {
        string path = RepositoryFile.Path("tests/reference/frames/" + script);
        using Process judge = Process.Start(new ProcessStartInfo(python,
            arguments.Prepend(path))
        { RedirectStandardOutput = true, RedirectStandardError = true })!;
        Task<string> errors = judge.StandardError.ReadToEndAsync();
        string said = judge.StandardOutput.ReadToEnd();
        judge.WaitForExit();
        Assert.True(judge.ExitCode == 0, errors.Result);
        return said;
    }

    private static double Number(string text) => double.Parse(text, CultureInfo.InvariantCulture);
}
