// Times finding and measuring on a 24-megapixel frame, and writes that frame as FITS so that judge_sep.py can be timed
// on the very same file:
//   dotnet run -c Release --project tests/benchmarks/frames -- detect /tmp/frame24.fits
//   dotnet run -c Release --project tests/benchmarks/frames -- grade FOLDER     (frames a second, peak memory, two
// workers)
//   dotnet run -c Release --project tests/benchmarks/frames -- recognize FOCAL_PX FILE...   (CPU of recognition after
// star finding; the first of a process compiles and builds tables)
//   taskset -c 0 python3 tests/reference/frames/judge_sep.py --time /tmp/frame24.fits
using System.Diagnostics;
using Hourhinge.Frames.Grading;
using Hourhinge.Frames.Matching;
using Hourhinge.Frames.Reading;
using Hourhinge.Frames.Stars;
using Hourhinge.Recognition;
using Hourhinge.Tests.Host.Frames;
using Hourhinge.Tests.Host.Frames.Reading;
using SixLabors.ImageSharp;
using SixLabors.ImageSharp.PixelFormats;

string path = args.Length > 1 ? args[1] : Path.Combine(Path.GetTempPath(), "frame24.fits");
switch (args.FirstOrDefault())
{
    case "detect":
        return Detect(path);
    case "grade":
        return GradeFolder(path);
    case "run":
        return AlignFolder(path);
    case "jpeg":
        ToJpeg(path, args[2]);
        return 0;
    case "dng":
        ToDng(path, args[2]);
        return 0;
    case "recognize":
        return Recognize(double.Parse(path, System.Globalization.CultureInfo.InvariantCulture), args[2..]);
    case "list":
        return List(path, args[2]);
    case "draw":
        Draw(path, seed: args.Length > 2 ? int.Parse(args[2], System.Globalization.CultureInfo.InvariantCulture) : 1);
        return 0;
    default:
        Console.Error.WriteLine(
            "usage: detect FILE | draw FILE.fits [SEED] | jpeg FILE.fits FILE.jpg | dng FILE.fits FILE.dng | list "
            + "FILE FILE.csv | "
            + "grade FOLDER | run FOLDER | recognize FOCAL_PX FILE...");
        return 2;
}

static void Draw(string path, int seed)
{
    const int Width = 6000, Height = 4000;
    // The frames of a run: one sky, a little further on each time, with noise of its own.
    List<TinyStar> stars = [.. TinySky.RandomStars(Width, Height, 4000, 1_500, 3_000_000, 1)
        .Select(s => s with { X = s.X + (2.3 * seed), Y = s.Y - (1.1 * seed) })];
    using FrameImage image = new TinySky(Width, Height, 300, seed).Draw(stars, 1.2).Expose(hotPixels: 2000, gain: 2);
    using FileStream file = File.Create(path);
    TestFitsFile.Write(file, image, h => h.Add("DATE-OBS", "2025-01-31T21:15:00").Add("EXPTIME", 30));
}

static int GradeFolder(string folder)
{
    IReadOnlyList<string> paths = FrameReader.FindFrames(folder);
    var clock = Stopwatch.StartNew();
    IReadOnlyList<FrameMeasures> measures = GradingRun.Measure(paths, FrameOverrides.None, null);
    IReadOnlyList<GradedFrame> graded = FrameGrader.Grade(measures);
    double seconds = clock.Elapsed.TotalSeconds;
    double peak = Process.GetCurrentProcess().PeakWorkingSet64 / 1048576.0;
    Console.WriteLine(
        $"{paths.Count} frames graded in {seconds:F1} s: {paths.Count / seconds:F2} frames a second, peak memory "
        + $"{peak:F0} MiB, 2 workers, start-up included");
    Console.WriteLine(string.Join(", ", graded.CountBy(g => g.Grade).Select(g => $"{g.Key} {g.Value}")) + "; first: "
        + graded[0].Reason);
    return 0;
}

static int AlignFolder(string folder)
{
    IReadOnlyList<string> paths = FrameReader.FindFrames(folder);
    var clock = Stopwatch.StartNew();
    var read = RunRead.Of(paths, FrameOverrides.None);
    double reading = clock.Elapsed.TotalSeconds;
    var aligned = RunAlignment.Of(read.Frames, 12820);
    Console.WriteLine(
        $"{paths.Count} frames: read and measured in {reading:F1} s, {aligned.Frames.Count} aligned in "
        + $"{clock.Elapsed.TotalSeconds - reading:F1} s, peak memory "
        + $"{Process.GetCurrentProcess().PeakWorkingSet64 / 1048576.0:F0} MiB");
    return 0;
}

static void ToJpeg(string fits, string jpeg)
{
    if (!FrameReader.TryRead(fits, FrameOverrides.None, out Frame? frame, out string? refusal))
    {
        throw new IOException(refusal);
    }

    using Frame held = frame;
    using var image = new Image<Rgb24>(frame.Image.Width, frame.Image.Height);
    for (int y = 0; y < image.Height; y++)
    {
        for (int x = 0; x < image.Width; x++)
        {
            byte v = (byte)Math.Clamp(Math.Sqrt(Math.Max(frame.Image[x, y] - 500, 0)) * 3, 0, 255);
            image[x, y] = new Rgb24(v, v, v);
        }
    }
    image.SaveAsJpeg(jpeg, new SixLabors.ImageSharp.Formats.Jpeg.JpegEncoder { Quality = 92 });
}

// The frame's counts as a mosaic: synthetic, uncompressed, 16 bits a pixel.
static void ToDng(string fits, string dng)
{
    if (!FrameReader.TryRead(fits, FrameOverrides.None, out Frame? frame, out string? refusal))
    {
        throw new IOException(refusal);
    }

    using Frame held = frame;
    ushort[] pixels = new ushort[frame.Image.Width * frame.Image.Height];
    for (int y = 0; y < frame.Image.Height; y++)
    {
        for (int x = 0; x < frame.Image.Width; x++)
        {
            pixels[(y * frame.Image.Width) + x] = (ushort)frame.Image[x, y];
        }
    }

    TestDngFile.Write(dng, frame.Image.Width, pixels, [0, 1, 1, 2]);
}

static int List(string path, string csv)
{
    if (!FrameReader.TryRead(path, FrameOverrides.None, out Frame? frame, out string? refusal))
    {
        Console.Error.WriteLine(refusal);
        return 2;
    }

    using Frame held = frame;
    StarField field = StarFinder.Find(frame.Image, new FinderOptions(MaxStars: 20000));
    File.WriteAllLines(csv, field.Stars.Select(s =>
        $"{s.X:F2},{s.Y:F2},{s.Flux:F0},{s.Peak:F0},{s.Snr:F2},{s.Significance:F2},{s.Cxx:F3},{s.Cyy:F3},{s.Cxy:F3},"
        + $"{(int)s.Cautions}"));
    File.WriteAllLines(csv + ".streaks", field.Streaks.Select(s =>
        $"{s.X1:F2},{s.Y1:F2},{s.X2:F2},{s.Y2:F2},{s.SigmaPx:F2},{s.Flux:F0}"));
    Console.WriteLine($"{Path.GetFileName(path)}: {field.StarCount} sources, {field.Stars.Count} measured, "
        + $"{field.Streaks.Count} streaks, {field.HotPixels} hot, sky {field.BackgroundLevel:F1} +- "
        + $"{field.BackgroundNoise:F2}{(field.TooMuch ? ", too much light" : "")}");
    return 0;
}

static int Detect(string path)
{
    if (!File.Exists(path))
    {
        Draw(path, 1);
    }

    const int Rounds = 8;
    double read = 0, find = 0, sky = 0, scan = 0;
    StarField? field = null;
    for (int k = 0; k <= Rounds; k++)
    {
        long a = Environment.CpuUsage.UserTime.Ticks;
        if (!FrameReader.TryRead(path, FrameOverrides.None, out Frame? frame, out string? refusal))
        {
            Console.Error.WriteLine(refusal);
            return 2;
        }
        using Frame held = frame;
        long b = Environment.CpuUsage.UserTime.Ticks;
        field = StarFinder.Find(frame.Image);
        long c = Environment.CpuUsage.UserTime.Ticks;
        var background = Background.Of(frame.Image);
        long d = Environment.CpuUsage.UserTime.Ticks;
        // The first round pays for compilation and is left out.
        if (k > 0)
        {
            (read, find, sky) = (read + Seconds(a, b), find + Seconds(b, c), sky + Seconds(c, d));
        }

        scan = background.MedianLevel;
    }
    Console.WriteLine(
        $"{Path.GetFileName(path)}: {field!.Width} x {field.Height}, {field.StarCount} sources, {field.Stars.Count} "
        + $"measured, sky {scan:F1}");
    Console.WriteLine(
        $"read {read / Rounds:F3} s, find and measure {find / Rounds:F3} s (background alone {sky / Rounds:F3} s), "
        + $"mean of {Rounds} Rounds, one thread");
    return 0;
}

static int Recognize(double focalPx, string[] files)
{
    foreach (string file in files)
    {
        if (!FrameReader.TryRead(file, FrameOverrides.None, out Frame? frame, out string? refusal))
        {
            Console.Error.WriteLine(refusal);
            return 2;
        }

        using Frame held = frame;
        StarField field = StarFinder.Find(frame.Image);
        ImageStar[] sources = [.. field.Stars.Select(s => new ImageStar(s.X, s.Y, s.Flux, s.CentroidSigmaPx))];
        foreach (FieldHint? hint in new[] { new FieldHint { FocalLengthPx = focalPx }, null })
        {
            double[] cpuMs = new double[6];
            RecognizedField? found = null;
            for (int k = 0; k < cpuMs.Length; k++)
            {
                TimeSpan before = Environment.CpuUsage.TotalTime;
                found = FieldRecognizer.Recognize(sources, field.Width, field.Height, hint);
                cpuMs[k] = (Environment.CpuUsage.TotalTime - before).TotalMilliseconds;
            }

            Console.WriteLine($"{Path.GetFileName(file)}, {(hint is null ? "no hint" : "hinted")}: "
                + $"{sources.Length} sources, "
                + (found is null ? "not recognised" : $"{found.Matches.Count} matched, rms {found.RmsPx:F3} px")
                + $"; CPU of the first {cpuMs[0]:F0} ms, of the next five {cpuMs[1..].Min():F0} to "
                + $"{cpuMs[1..].Max():F0} ms");
        }
    }

    return 0;
}

static double Seconds(long from, long to) => (to - from) / (double)TimeSpan.TicksPerSecond;
