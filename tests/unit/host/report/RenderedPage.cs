// The pixels of a page: on the screen at night, and printed on paper (poppler draws the PDF).

using Hourhinge.Tests.Support;
using Microsoft.Playwright;
using SkiaSharp;

namespace Hourhinge.Tests.Host.Report;

/// <summary>Checks of an open page by its pixels and on paper.</summary>
internal static class RenderedPage
{
    public static async Task HasNoGreenAndNoBlue(View view)
    {
        await view.Page.Keyboard.PressAsync("Tab");
        using SKBitmap shot =
            SKBitmap.Decode(await view.Page.ScreenshotAsync(new PageScreenshotOptions { FullPage = true }));
        Assert.Equal(0, shot.Pixels.Count(p => p.Green > 0 || p.Blue > 0));
        Assert.True(shot.Pixels.Count(p => p.Red > 200) > 5000, "nothing is to be seen");
    }

    /// <summary>Prints an open page; the number of sheets.</summary>
    public static async Task<int> PrintsBlackOnWhiteOnA4(View view, string name)
    {
        string folder = Directory.CreateTempSubdirectory("hourhinge-print-").FullName;
        string pdf = Path.Combine(folder, "page.pdf");
        await view.Page.PdfAsync(new PagePdfOptions { Path = pdf, PreferCSSPageSize = true, PrintBackground = true });
        (int code, string text) =
            OutsideProgram.PdfToPpm.Run("-r", "72", "-png", pdf, Path.Combine(folder, name));
        Assert.True(code == 0, text);
        string[] sheets = [.. Directory.GetFiles(folder, name + "-*.png").Order()];
        Assert.InRange(sheets.Length, 1, 12);
        foreach (string sheet in sheets)
        {
            View.Keep(await File.ReadAllBytesAsync(sheet), "print-" + Path.GetFileNameWithoutExtension(sheet));
            using SKBitmap shot = SKBitmap.Decode(sheet);
            // ISO 216: A4 is 210 x 297 mm, at 72 dpi 595 x 842.
            Assert.InRange(shot.Width, 594, 596);
            Assert.InRange(shot.Height, 841, 843);
            SKColor[] pixels = shot.Pixels;
            Assert.InRange(pixels.Count(p => p.Red > 250 && p.Green > 250 && p.Blue > 250), pixels.Length * 0.7,
                pixels.Length * 0.999);
            // No ink in the margins but the page number's.
            Assert.DoesNotContain(Enumerable.Range(0, shot.Height), y => shot.GetPixel(20, y).Green < 200
                || shot.GetPixel(shot.Width - 20, y).Green < 200);
        }

        Directory.Delete(folder, recursive: true);
        return sheets.Length;
    }

    /// <summary>Nothing is cut off on A4: 180 mm between the margins, at the 96 px an inch of CSS.</summary>
    public static async Task FitsThePaper(View view)
    {
        await view.Page.SetViewportSizeAsync(680, 800);
        await view.Page.EmulateMediaAsync(new PageEmulateMediaOptions { Media = Media.Print });
        string beyond =
            await view.Page.EvaluateAsync<string>(
                "[...document.querySelectorAll('main *')].filter(e => !e.closest('caption') && "
                + "e.getBoundingClientRect().right > innerWidth + 0.5).map(e => e.outerHTML.slice(0, 80)).join('\\n')");
        Assert.Equal("", beyond);
    }
}
