// The frame as a negative with its stars and objects marked.

using Hourhinge.Frames.Reading;
using Hourhinge.Frames.Stars;
using Hourhinge.Recognition;
using SkiaSharp;

namespace Hourhinge.App.Field;

internal static class FieldPicture
{
    private const int LongSidePx = 1600;
    private const float RadiusPx = 7;
    private const int MaxCircles = 400;

    /// <summary>Draws a JPEG of at most 1600 pixels on its long side.</summary>
    /// <param name="image">The frame.</param>
    /// <param name="stars">Background and noise.</param>
    /// <param name="field">The field; null for none.</param>
    /// <param name="contents">Its contents; null for none.</param>
    public static byte[] Draw(FrameImage image, StarField stars, RecognizedField? field, FieldContents? contents)
    {
        double step = Math.Max(1, Math.Max(image.Width, image.Height) / (double)LongSidePx);
        using SKBitmap bitmap = Reduce(image, stars, step);
        using var surface = SKSurface.Create(new SKImageInfo(bitmap.Width, bitmap.Height, SKColorType.Bgra8888));
        surface.Canvas.DrawBitmap(bitmap, 0, 0);
        if (field != null && contents != null)
        {
            Mark(surface.Canvas, contents, (float)(1 / step));
        }

        using SKImage snapshot = surface.Snapshot();
        using SKData data = snapshot.Encode(SKEncodedImageFormat.Jpeg, 85);
        return data.ToArray();
    }

    private static void Mark(SKCanvas canvas, FieldContents contents, float scale)
    {
        using var line =
            new SKPaint { Color = new SKColor(0, 60, 160), IsStroke = true, StrokeWidth = 1.4f, IsAntialias = true };
        using var ink = new SKPaint { Color = new SKColor(0, 40, 110), IsAntialias = true };
        using var halo = new SKPaint
        { Color = SKColors.White, IsStroke = true, StrokeWidth = 4, IsAntialias = true };
        using var font = new SKFont(SKTypeface.Default, 15);
        foreach (ExpectedStar star in contents.Expected.Take(MaxCircles))
        {
            SKPoint at = At(star.Place, scale);
            if (star.IsFound)
            {
                canvas.DrawCircle(at, RadiusPx, line);
            }
            else
            {
                canvas.DrawLine(at.X - RadiusPx, at.Y - RadiusPx, at.X + RadiusPx, at.Y + RadiusPx, line);
                canvas.DrawLine(at.X - RadiusPx, at.Y + RadiusPx, at.X + RadiusPx, at.Y - RadiusPx, line);
            }
        }

        var taken = new List<SKRect>();
        foreach (FieldObject o in FieldPage.Chosen(contents))
        {
            SKPoint at = At(o.Place, scale);
            if (o.RadiusPx * scale > RadiusPx)
            {
                canvas.DrawCircle(at, (float)o.RadiusPx * scale, line);
            }

            float width = font.MeasureText(o.Name), x = at.X + RadiusPx + 4, y = at.Y - RadiusPx;
            // Labels stay in the picture and do not cover one another: down, line by line.
            x = x + width > canvas.DeviceClipBounds.Width ? at.X - RadiusPx - 4 - width : x;
            var box = new SKRect(x, y - 15, x + width, y + 3);
            while (taken.Any(t => t.IntersectsWith(box)))
            {
                box.Offset(0, 18);
            }

            taken.Add(box);
            canvas.DrawText(o.Name, box.Left, box.Bottom - 3, SKTextAlign.Left, font, halo);
            canvas.DrawText(o.Name, box.Left, box.Bottom - 3, SKTextAlign.Left, font, ink);
        }
    }

    private static SKPoint At(FramePoint place, float scale) =>
        new(((float)place.X + 0.5f) * scale, ((float)place.Y + 0.5f) * scale);

    // The brightest pixel of each block: a mean would hide the stars.
    private static SKBitmap Reduce(FrameImage image, StarField stars, double step)
    {
        int wide = Math.Max(1, (int)(image.Width / step)), high = Math.Max(1, (int)(image.Height / step));
        var bitmap = new SKBitmap(wide, high, SKColorType.Gray8, SKAlphaType.Opaque);
        Span<byte> grey = bitmap.GetPixelSpan();
        float[] row = new float[image.Width], brightest = new float[wide];
        double noise = Math.Max(stars.BackgroundNoise, 1e-6);
        for (int v = 0; v < high; v++)
        {
            Array.Fill(brightest, float.MinValue);
            for (int y = (int)(v * step);
                y < Math.Min(image.Height, Math.Max((v * step) + 1, (int)((v + 1) * step))); y++)
            {
                image.CopyRow(y, 0, row);
                for (int u = 0; u < wide; u++)
                {
                    int from = (int)(u * step), to = Math.Min(image.Width, Math.Max(from + 1, (int)((u + 1) * step)));
                    for (int x = from; x < to; x++)
                    {
                        brightest[u] = Math.Max(brightest[u], row[x]);
                    }
                }
            }

            for (int u = 0; u < wide; u++)
            {
                // Inverse hyperbolic sine of the signal in units of the noise: faint and bright stars both show.
                double signal = ((brightest[u] - stars.BackgroundLevel) / noise) - (step > 1.5 ? 2 : 0);
                grey[(v * bitmap.RowBytes) + u] = (byte)Math.Clamp(235 - (34 * Math.Asinh(signal)), 0, 255);
            }
        }

        return bitmap;
    }
}
