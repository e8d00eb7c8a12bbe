// A run of frames as an intervalometer takes them, written to a directory in one format, with the truth beside them.

using Hourhinge.Starfield.Render;
using Hourhinge.Starfield.Scenes;

namespace Hourhinge.Starfield.Files;

/// <summary>File formats that a sequence can be written in.</summary>
public enum FrameFormat
{
    /// <summary>FITS, 16-bit.</summary>
    Fits,

    /// <summary>TIFF, 16-bit grey.</summary>
    Tiff,

    /// <summary>JPEG, 8-bit grey.</summary>
    Jpeg,

    /// <summary>PNG, 8-bit grey.</summary>
    Png,
}

/// <summary>
/// A run of frames. Given: how many, 1 to 10000; exposure, seconds; gap between the end of one and the start of the
/// next, seconds; start of the first one, seconds since the scene's start.
/// </summary>
public sealed record FrameSequence(
    int Count, double ExposureSeconds, double GapSeconds = 5, double FirstStartSeconds = 0)
{
    /// <summary>Number of frames.</summary>
    public int Count { get; } = (int)Check.Range(Count, 1, 10000, "Number of frames");

    /// <summary>Gap, 0 s and up.</summary>
    public double GapSeconds { get; } = Check.Range(GapSeconds, 0, 86400, "Gap between frames (s)");

    /// <summary>Start of a frame, seconds since the scene's start.</summary>
    public double StartSeconds(int index) => FirstStartSeconds + (index * (ExposureSeconds + GapSeconds));

    /// <summary>Takes the frames one by one.</summary>
    public IEnumerable<RenderedFrame> Render(Scene scene)
    {
        var renderer = new FrameRenderer(scene);
        for (int i = 0; i < Count; i++)
        {
            yield return renderer.Render(i, StartSeconds(i), ExposureSeconds);
        }
    }

    /// <summary>
    /// Takes and writes the frames as frame-0001 and on, with truth-stars.csv and truth-frames.json.
    /// Given: scene; directory, which must be there; format; clock; tone curve of 8-bit files (null: a camera's own);
    /// progress, told the number of frames done. Returned: the paths written.
    /// </summary>
    public IReadOnlyList<string> Write(
        Scene scene, string directory, FrameFormat format, CameraClock? clock = null,
        Func<RenderedFrame, ToneCurve>? curve = null, IProgress<int>? progress = null)
    {
        ArgumentNullException.ThrowIfNull(scene);
        clock ??= new CameraClock();
        curve ??= frame => ToneCurve.OfCamera(frame.Scene.Sensor);
        using var truth = new TruthFile(directory);
        var paths = new List<string>();
        foreach (RenderedFrame frame in Render(scene))
        {
            string name =
                $"frame-{frame.Index + 1:D4}.{Extension(format)}";
            string path = Path.Combine(directory, name);
            switch (format)
            {
                case FrameFormat.Fits:
                    FitsWriter.Write(path, frame, clock);
                    break;
                case FrameFormat.Tiff:
                    TiffFile.Write(path, frame, clock);
                    break;
                case FrameFormat.Jpeg:
                    PictureFile.WriteJpeg(path, frame, clock, curve(frame));
                    break;
                default:
                    PictureFile.WritePng(path, frame, clock, curve(frame));
                    break;
            }
            truth.Add(frame, name, clock);
            paths.Add(path);
            progress?.Report(paths.Count);
        }
        return paths;
    }

    private static string Extension(FrameFormat format) => format switch
    {
        FrameFormat.Fits => "fits",
        FrameFormat.Tiff => "tif",
        FrameFormat.Jpeg => "jpg",
        _ => "png",
    };
}
