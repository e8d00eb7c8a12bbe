// The one door for frame files: tells the kind by the first bytes, reads pixels and facts, and turns every
// failure into a sentence that names the file.
// Not here: FITS (FitsReader), Exif tags (ExifInfo), completeness of JPEG, PNG and TIFF (FileCompleteness).
using System.Runtime.InteropServices;
using SixLabors.ImageSharp;
using SixLabors.ImageSharp.Formats.Png;
using SixLabors.ImageSharp.Memory;
using SixLabors.ImageSharp.PixelFormats;

namespace Hourhinge.Frames.Reading;

/// <summary>Reads frames from JPEG, PNG, TIFF (8 and 16 bits), FITS and raw files.</summary>
/// <remarks>Colour becomes one channel by <see cref="Luminance"/> on the file's numbers; a JPEG's tone curve is not
/// undone (centroids do not feel it, fluxes do). One-channel 16-bit data comes through bit for bit.</remarks>
public static class FrameReader
{
    /// <summary>File name endings of frames other than raw files.</summary>
    public static IReadOnlyList<string> Extensions { get; } = new[]
    {
        ".jpg", ".jpeg", ".png", ".tif", ".tiff", ".fit", ".fits", ".fts",
    };

    private const long LargestRaw = 512L << 20;

    private static readonly TimeSpan _patience = TimeSpan.FromSeconds(5);
    private static readonly Configuration _decoding = NewConfiguration();

    /// <summary>The folder's frame files, sorted by name (ordinal); see <see cref="FrameFolder"/>.</summary>
    public static IReadOnlyList<string> FindFrames(string folder) => FrameFolder.Of(folder).Files;

    /// <summary>Reads a frame, or says in one sentence why not.</summary>
    /// <param name="path">The file.</param>
    /// <param name="overrides">Corrections to times and exposure.</param>
    /// <param name="frame">The frame, for the caller to dispose of.</param>
    /// <param name="refusal">The reason, file name first; empty on success.</param>
    public static bool TryRead(string path, FrameOverrides overrides,
        [System.Diagnostics.CodeAnalysis.NotNullWhen(true)] out Frame? frame, out string refusal)
    {
        Frame? read = null;
        refusal = Guarded(path, () => read = ReadFrame(path, overrides));
        frame = read;
        return read is not null;
    }

    /// <summary>Reads only what the file says of itself; cheap.</summary>
    public static bool TryReadInfo(string path, FrameOverrides overrides,
        [System.Diagnostics.CodeAnalysis.NotNullWhen(true)] out FrameInfo? info, out string refusal)
    {
        FrameInfo? read = null;
        refusal = Guarded(path, () => read = ReadInfo(path, overrides));
        info = read;
        return read is not null;
    }

    private static string Guarded(string path, Action read)
    {
        string name = Path.GetFileName(path);
        try
        {
            read();
            return "";
        }
        catch (Exception e) when (e is FrameReadException or IOException or UnauthorizedAccessException)
        {
            return $"{name}: {e.Message}";
        }
        catch (Exception e) when (e is ImageFormatException or ImageProcessingException
            or MetadataExtractor.ImageProcessingException)
        {
            return $"{name}: damaged: {e.Message}";
        }
        catch (OutOfMemoryException)
        {
            return $"{name}: there is not enough memory to decode it.";
        }
        catch (Exception e)
        {
            // Decoders meet any bytes at all here; whatever they stumble over is a damaged file to the user.
            return $"{name}: damaged: the decoder stopped with {e.GetType().Name}: {e.Message}";
        }
    }

    private static Frame ReadFrame(string path, FrameOverrides overrides)
    {
        using FileStream stream = Open(path, out FileKind kind);
        if (kind == FileKind.Fits)
        {
            (FitsHeader? header, FrameImage? pixels) = FitsReader.Read(stream);
            try
            {
                return new Frame(pixels, FitsReader.Info(header, Path.GetFileName(path), overrides));
            }
            catch
            {
                pixels.Dispose();
                throw;
            }
        }
        if (kind == FileKind.Raw)
        {
            return ReadRaw(stream, Path.GetFileName(path), overrides);
        }

        FileCompleteness.Check(stream, kind);
        CheckBounds(stream, kind);
        FrameInfo info = ExifInfo.Read(stream, Path.GetFileName(path), overrides);
        stream.Position = 0;
        return new Frame(DecodeLuminance(stream), info);
    }

    private static Frame ReadRaw(FileStream stream, string name, FrameOverrides overrides)
    {
        if (stream.Length > LargestRaw)
        {
            throw new FrameReadException(
                $"{stream.Length >> 20} MB; raw files up to {LargestRaw >> 20} MB can be read.");
        }

        byte[] file = new byte[stream.Length];
        stream.ReadExactly(file);
        (FrameImage image, string source, int binning) = RawReader.Read(file);
        try
        {
            return new Frame(image, RawInfo(stream, name, overrides) with { PixelsFrom = source, Binning = binning });
        }
        catch
        {
            image.Dispose();
            throw;
        }
    }

    // A raw file whose facts nobody can read is a frame without a time.
    private static FrameInfo RawInfo(FileStream stream, string name, FrameOverrides overrides)
    {
        stream.Position = 0;
        try
        {
            return ExifInfo.Read(stream, name, overrides);
        }
        catch (MetadataExtractor.ImageProcessingException)
        {
            return new FrameInfo(name, null, 1, overrides.ExposureSeconds, null, null);
        }
    }

    private static FrameInfo ReadInfo(string path, FrameOverrides overrides)
    {
        using FileStream stream = Open(path, out FileKind kind);
        return kind == FileKind.Fits
            ? FitsReader.Info(FitsHeader.Read(stream), Path.GetFileName(path), overrides)
            : Facts(stream, kind, Path.GetFileName(path), overrides);
    }

    private static FrameInfo Facts(FileStream stream, FileKind kind, string name, FrameOverrides overrides)
    {
        if (kind == FileKind.Raw)
        {
            return RawInfo(stream, name, overrides);
        }

        CheckBounds(stream, kind);
        return ExifInfo.Read(stream, name, overrides);
    }

    private static void CheckBounds(FileStream stream, FileKind kind)
    {
        if (kind == FileKind.Png)
        {
            DecodingBounds.CheckPng(stream);
        }
        else if (kind == FileKind.Tiff)
        {
            DecodingBounds.CheckTiff(stream);
        }

        stream.Position = 0;
    }

    private static FileStream Open(string path, out FileKind kind)
    {
        // Opening a named pipe waits for a writer; .NET cannot ask for the kind of a file. On its own thread:
        // those of the pool may all be decoding, and the wait for one would be taken for a pipe's.
        Task<FileStream> opening = Task.Factory.StartNew(
            () => new FileStream(path, FileMode.Open, FileAccess.Read, FileShare.Read, 1 << 17),
            CancellationToken.None, TaskCreationOptions.LongRunning, TaskScheduler.Default);
        if (Task.WaitAny([opening], _patience) < 0)
        {
            throw new FrameReadException(
                $"it does not open within {_patience.TotalSeconds} s; it may be a pipe instead of a file.");
        }

        FileStream stream = opening.GetAwaiter().GetResult();
        try
        {
            if (!stream.CanSeek || Directory.Exists(path))
            {
                throw new FrameReadException("it is not a file.");
            }

            Span<byte> first = stackalloc byte[16];
            int got = stream.ReadAtLeast(first, first.Length, throwOnEndOfStream: false);
            stream.Position = 0;
            kind = FileCompleteness.KindOf(first[..got], path);
            return stream;
        }
        catch
        {
            stream.Dispose();
            throw;
        }
    }

    /// <summary>Decodes JPEG, PNG or TIFF from where the stream begins.</summary>
    internal static FrameImage DecodeLuminance(Stream stream)
    {
        IImageInfo facts = Image.Identify(_decoding, stream)
            ?? throw new FrameReadException("damaged: no image in the file.");
        DecodingBounds.CheckPixels(facts.Width, facts.Height, stream.Length);
        bool deep = DeepestChannel(facts) > 8;
        stream.Position = 0;
        return deep ? Deep(stream) : Shallow(stream);
    }

    private static FrameImage Deep(Stream stream)
    {
        using var decoded = Image.Load<Rgb48>(_decoding, stream);
        var image = FrameImage.NewCounts(decoded.Width, decoded.Height);
        decoded.ProcessPixelRows(rows =>
        {
            for (int y = 0; y < rows.Height; y++)
            {
                Luminance.OfDeep(MemoryMarshal.Cast<Rgb48, ushort>(rows.GetRowSpan(y)), image.CountsRow(y));
            }
        });
        return image;
    }

    private static FrameImage Shallow(Stream stream)
    {
        using var decoded = Image.Load<Rgb24>(_decoding, stream);
        var image = FrameImage.NewCounts(decoded.Width, decoded.Height, Luminance.ShallowScale);
        decoded.ProcessPixelRows(rows =>
        {
            for (int y = 0; y < rows.Height; y++)
            {
                Luminance.OfShallow(MemoryMarshal.Cast<Rgb24, byte>(rows.GetRowSpan(y)), image.CountsRow(y));
            }
        });
        return image;
    }

    private static int DeepestChannel(IImageInfo facts)
    {
        PngMetadata png = facts.Metadata.GetPngMetadata();
        if (png.BitDepth is { } depth)
        {
            return (int)depth;
        }

        int bits = facts.PixelType.BitsPerPixel;
        return bits is 16 or 48 or 64 ? 16 : 8;
    }

    private static Configuration NewConfiguration()
    {
        // Two frames at once must fit in 1 GiB: keep the decoder's own pool small and its threads few.
        Configuration configuration = Configuration.Default.Clone();
        configuration.MaxDegreeOfParallelism = 1;
        configuration.MemoryAllocator =
            MemoryAllocator.Create(new MemoryAllocatorOptions { MaximumPoolSizeMegabytes = 160 });
        return configuration;
    }
}
