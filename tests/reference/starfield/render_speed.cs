#:project ../../../host/starfield/Hourhinge.Starfield.csproj
#:property PublishAot=false
#:property NoWarn=$(NoWarn);CA1852;CA1861
// Times the rendering of a 24-megapixel frame with some 1500 stars, drive on and drive stopped, and the writers.
// Run:  taskset -c 0 dotnet run -c Release tests/reference/starfield/render_speed.cs [folder for the pictures]

using System.Diagnostics;
using Hourhinge.Starfield;
using Hourhinge.Starfield.Files;
using Hourhinge.Starfield.Geometry;
using Hourhinge.Starfield.Render;

string folder = args.Length > 0 ? args[0] : Directory.CreateTempSubdirectory("starfield").FullName;
Directory.CreateDirectory(folder);
var scene = new Scene
{
    StartUtc = new DateTime(2027, 3, 4, 20, 0, 0, DateTimeKind.Utc),
    Site = new Site(47, 11),
    Mount = new HingeMount(t => SkyMotion.RateRadPerSec * t, 30, 0),
    Pointing = Pointing.AtHourAngle(-20, 30),
    Lens = new Lens(50, 2.8),
    Sensor = new Sensor(6000, 4000, 3.9),
    Stars = Array.Empty<Star>(),
};
double ra = new FrameRenderer(scene).CentreRightAscensionDeg;
scene = scene with { Stars = RandomField.Create(5, ra, 30, 18, RandomField.FaintestFor(1500, 466)) };
Console.WriteLine($"{Environment.ProcessorCount} core(s)");
Frame last = Run("drive on", scene);
Frame stopped = Run("drive stopped", scene with { Mount = HingeMount.Stopped });
var clock = new CameraClock();
Time("write FITS", () => FitsFile.Write(Path.Combine(folder, "on.fits"), last, clock));
Time("write TIFF", () => TiffFile.Write(Path.Combine(folder, "on.tif"), last, clock));
Time("write JPEG", () => PictureFile.WriteJpeg(Path.Combine(folder, "on.jpg"), last, clock, ToneCurve.Stretched(last)));
Time("write PNG", () => PictureFile.WritePng(Path.Combine(folder, "on.png"), last, clock, ToneCurve.Stretched(last)));
PictureFile.WritePng(Path.Combine(folder, "stopped.png"), stopped, clock, ToneCurve.Stretched(stopped));
Console.WriteLine($"pictures in {folder}; peak memory {Process.GetCurrentProcess().PeakWorkingSet64 / 1048576} MiB");

static Frame Run(string what, Scene scene)
{
    var renderer = new FrameRenderer(scene);
    Frame frame = renderer.Render(0, 0, 30);
    var times = new List<double>();
    for (int i = 1; i <= 7; i++)
    {
        long start = Stopwatch.GetTimestamp();
        frame = renderer.Render(i, 35 * i, 30);
        times.Add(Stopwatch.GetElapsedTime(start).TotalMilliseconds);
    }
    times.Sort();
    Console.WriteLine(
        $"{what}: {frame.Truth.Count} stars, median {times[3]:F0} ms, slowest {times[^1]:F0} ms of 7 frames");
    return frame;
}

static void Time(string what, Action action)
{
    action();
    long start = Stopwatch.GetTimestamp();
    action();
    Console.WriteLine($"{what}: {Stopwatch.GetElapsedTime(start).TotalMilliseconds:F0} ms");
}
