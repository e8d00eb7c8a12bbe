// The contact picture: each frame reduced, its centre at full size beside it, name and grade below. The border shows
// the grade by pattern as well as by colour: keep solid, doubt dashed, drop crossed out. Drawn as a negative: it needs
// less ink, and faint trails are easier to see.

using Hourhinge.App.Common;
using Hourhinge.Frames.Grading;
using Hourhinge.Frames.Reading;
using SkiaSharp;

namespace Hourhinge.App.Frames;

internal static class ContactPicture
{
    private const int MaxWidthPx = 2400;
    private const int LabelPx = 18;
    private const int GapPx = 8;
    private static readonly SKColor _paper = SKColors.White;

    /// <summary>Rejects a file of another kind, before any work is done.</summary>
    public static void Check(FileInfo? file)
    {
        if (file != null && MediaType(file.Extension) is not ("image/jpeg" or "image/png"))
        {
            throw new InputException($"--contact {file.Name}: the name must end with .jpg or .png.");
        }
    }

    /// <summary>image/jpeg or image/png; empty for another ending.</summary>
    public static string MediaType(string? extension) => extension?.ToUpperInvariant() switch
    {
        ".JPG" or ".JPEG" => "image/jpeg",
        ".PNG" => "image/png",
        _ => "",
    };

    /// <summary>
    /// Draws all frames; reads each file once more. Memory: the picture (at most 2400 px wide) and one frame for each
    /// worker, whatever their number.
    /// </summary>
    public static byte[] Draw(IReadOnlyList<string> files, IReadOnlyList<GradedFrame> frames, string extension,
        int workers)
    {
        // About as many across as down; a cell is two tiles of 3:2 side by side.
        int across = Math.Clamp((int)Math.Ceiling(Math.Sqrt(frames.Count / 2.0)), 1, 24);
        int tile = Math.Clamp(((MaxWidthPx / across) - (2 * GapPx)) / 2, 40, 220);
        int tall = tile * 2 / 3;
        (int cellWidth, int cellHeight) = ((2 * tile) + (2 * GapPx), tall + LabelPx + (2 * GapPx));
        int down = (frames.Count + across - 1) / across;
        // JPEG allows 65535 rows.
        if (down * cellHeight > 65000)
        {
            throw new InputException(
                $"--contact: {frames.Count} frames make too tall a picture; at most {65000 / cellHeight * across}.");
        }

        using SKSurface surface =
            SKSurface.Create(new SKImageInfo(across * cellWidth, down * cellHeight, SKColorType.Bgra8888))
            ?? throw new InputException($"--contact: no memory for a picture of {frames.Count} frames.");
        surface.Canvas.Clear(_paper);
        using var font = new SKFont(SKTypeface.Default, 12);
        var gate = new Lock();
        Parallel.For(0, frames.Count, new ParallelOptions { MaxDegreeOfParallelism = workers }, i =>
        {
            using SKBitmap? pixels = Tiles(files[i], frames[i].Measures, tile, tall);
            lock (gate)
            {
                Cell(surface.Canvas, pixels, frames[i], new SKRect(i % across * cellWidth, i / across * cellHeight,
                    ((i % across) + 1) * cellWidth, ((i / across) + 1) * cellHeight), font);
            }
        });
        using SKImage image = surface.Snapshot();
        bool jpeg = MediaType(extension) == "image/jpeg";
        using SKData data = image.Encode(jpeg ? SKEncodedImageFormat.Jpeg : SKEncodedImageFormat.Png, 88);
        return data.ToArray();
    }

    // Left: the entire frame, for clouds and gradients. Right: its centre at full size, for the shape of the stars.
    private static SKBitmap? Tiles(string file, FrameMeasures m, int tile, int tall)
    {
        if (m.Error.Length > 0 || !FrameReader.TryRead(file, FrameOverrides.None, out Frame? frame, out _))
        {
            return null;
        }

        using (frame)
        {
            FrameImage image = frame.Image;
            var bitmap = new SKBitmap(2 * tile, tall, SKColorType.Gray8, SKAlphaType.Opaque);
            Span<byte> grey = bitmap.GetPixelSpan();
            grey.Fill(255);
            float[] row = new float[image.Width];
            float[] brightest = new float[tile];
            double scale = Math.Max((double)image.Width / tile, (double)image.Height / tall);
            (int wide, int high) = ((int)(image.Width / scale), (int)(image.Height / scale));
            for (int v = 0; v < high; v++)
            {
                // The brightest pixel of each block: a mean would hide the stars.
                Array.Clear(brightest);
                for (int y = (int)(v * scale); y < Math.Min(image.Height, (int)((v + 1) * scale)); y++)
                {
                    image.CopyRow(y, 0, row);
                    for (int u = 0; u < wide; u++)
                    {
                        foreach (float value in row.AsSpan((int)(u * scale), Math.Max(1, (int)scale)))
                        {
                            brightest[u] = Math.Max(brightest[u], value);
                        }
                    }
                }

                for (int u = 0; u < wide; u++)
                {
                    grey[(v * bitmap.RowBytes) + u] = Shade(brightest[u], m, 4);
                }
            }

            (int left, int top) = ((image.Width - tile) / 2, (image.Height - tall) / 2);
            for (int v = Math.Max(0, -top); v < tall && top + v < image.Height; v++)
            {
                for (int u = Math.Max(0, -left); u < tile && left + u < image.Width; u++)
                {
                    grey[(v * bitmap.RowBytes) + tile + u] = Shade(image[left + u, top + v], m, 0);
                }
            }

            return bitmap;
        }
    }

    // Grey by the inverse hyperbolic sine of the signal in units of the noise: faint and bright stars both show.
    private static byte Shade(double value, FrameMeasures m, double above) =>
        (byte)Math.Clamp(235 - (34 * Math.Asinh(((value - m.Background) / Math.Max(m.Noise, 1e-6)) - above)), 0, 255);

    private static void Cell(SKCanvas canvas, SKBitmap? pixels, GradedFrame g, SKRect cell, SKFont font)
    {
        SKColor colour = g.Grade switch
        {
            FrameGrade.Keep => new SKColor(0, 105, 40),
            FrameGrade.Doubt => new SKColor(150, 90, 0),
            _ => new SKColor(175, 25, 20),
        };
        using var line = new SKPaint { Color = colour, IsStroke = true, StrokeWidth = 2, IsAntialias = true };
        using var ink = new SKPaint { Color = colour, IsAntialias = true };
        var frame = new SKRect(cell.Left + GapPx, cell.Top + GapPx, cell.Right - GapPx, cell.Bottom - GapPx - LabelPx);
        if (pixels != null)
        {
            canvas.DrawBitmap(pixels, frame.Left, frame.Top);
        }

        using SKPathEffect dashes = SKPathEffect.CreateDash([7, 5], 0);
        line.PathEffect = g.Grade == FrameGrade.Doubt ? dashes : null;
        canvas.DrawRect(SKRect.Inflate(frame, 2, 2), line);
        if (g.Grade == FrameGrade.Drop)
        {
            canvas.DrawLine(frame.Left, frame.Top, frame.Right, frame.Bottom, line);
            canvas.DrawLine(frame.Left, frame.Bottom, frame.Right, frame.Top, line);
        }

        // A name that does not fit loses its beginning: the frame number is at its end.
        string name = g.Measures.Name;
        string grade = FramesPage.Word(g.Grade) + " ";
        while (name.Length > 1 && font.MeasureText(grade + name) > frame.Width)
        {
            name = name[1..];
        }

        canvas.DrawText(grade + name, frame.Left, frame.Bottom + LabelPx - 2, SKTextAlign.Left, font, ink);
    }
}
