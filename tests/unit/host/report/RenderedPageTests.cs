// The pixels of each page: on the screen at night, and printed on paper (poppler draws the PDF).

using Hourhinge.Tests.Support;
using Microsoft.Playwright;
using SkiaSharp;
using Xunit.Abstractions;

namespace Hourhinge.Tests.Host.Report;

public class RenderedPageTests(ITestOutputHelper output)
{
    public static TheoryData<string> Each => Pages.Each;

    [SkippableTheory]
    [MemberData(nameof(Each))]
    public async Task At_night_the_screen_shows_no_green_and_no_blue(string name)
    {
        OutsideProgram.Chromium.SkipIfMissing();
        foreach (int widthPx in new[] { Pages.NarrowPx, 1280 })
        {
            await using View view = await Browser.Open(Pages.Make(name, true), widthPx);
            await view.Page.Keyboard.PressAsync("Tab");
            using SKBitmap shot =
                SKBitmap.Decode(await view.Page.ScreenshotAsync(new PageScreenshotOptions { FullPage = true }));
            Assert.Equal(0, shot.Pixels.Count(p => p.Green > 0 || p.Blue > 0));
            Assert.True(shot.Pixels.Count(p => p.Red > 200) > 5000, "nothing is to be seen");
        }
    }

    [SkippableTheory]
    [MemberData(nameof(Each))]
    public async Task Prints_black_on_white_on_A4_even_from_the_night_theme(string name)
    {
        OutsideProgram.Chromium.SkipIfMissing();
        OutsideProgram.PdfToPpm.SkipIfMissing();
        string folder = Directory.CreateTempSubdirectory("hourhinge-print-").FullName;
        await using View view = await Browser.Open(Pages.Make(name, true), Pages.NarrowPx);
        string pdf = Path.Combine(folder, "page.pdf");
        await view.Page.PdfAsync(new PagePdfOptions { Path = pdf, PreferCSSPageSize = true, PrintBackground = true });
        (int code, string text) =
            OutsideProgram.PdfToPpm.Run("-r", "72", "-png", pdf, Path.Combine(folder, name));
        Assert.True(code == 0, text);
        string[] sheets = [.. Directory.GetFiles(folder, name + "-*.png").Order()];
        output.WriteLine($"{name}: {sheets.Length} sheets");
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
    }

    [SkippableTheory]
    [MemberData(nameof(Each))]
    public async Task Paper_cuts_nothing_off(string name)
    {
        OutsideProgram.Chromium.SkipIfMissing();
        // 180 mm between the margins of A4, at the 96 px an inch of CSS.
        await using View view = await Browser.Open(Pages.Make(name, false), 680);
        await view.Page.EmulateMediaAsync(new PageEmulateMediaOptions { Media = Media.Print });
        string beyond =
            await view.Page.EvaluateAsync<string>(
                "[...document.querySelectorAll('main *')].filter(e => !e.closest('caption') && "
                + "e.getBoundingClientRect().right > innerWidth + 0.5).map(e => e.outerHTML.slice(0, 80)).join('\\n')");
        Assert.Equal("", beyond);
    }
}
