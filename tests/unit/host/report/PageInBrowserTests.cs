// Each page opened in a browser: narrow and wide window, day and night theme, and printed.
// Accessibility is judged by axe-core (Deque), rules of WCAG 2.2. HOURHINGE_SHOTS=folder keeps the pictures.

using Deque.AxeCore.Commons;
using Deque.AxeCore.Playwright;
using Hourhinge.Tests.Support;
using Microsoft.Playwright;
using SkiaSharp;
using Xunit.Abstractions;

namespace Hourhinge.Tests.Host.Report;

public class PageInBrowserTests(Browser browser, Pages pages, ITestOutputHelper output) : IClassFixture<Browser>,
    IClassFixture<Pages>
{
    public static TheoryData<string, int, bool> Views => Pages.Views;

    public static TheoryData<string> Each => Pages.Each;

    [SkippableTheory]
    [MemberData(nameof(Views))]
    public async Task Opens_in_peace_fits_the_window_and_passes_axe(string name, int widthPx, bool night)
    {
        Browser.MustBeThere();
        await using View view = await browser.Open(pages.Make(name, night), widthPx);
        await Keep(view, $"{name}-{widthPx}-{(night ? "night" : "day")}");
        Assert.Equal(night ? "night" : "day",
            await view.Page.EvaluateAsync<string>("document.documentElement.dataset.theme"));
        Assert.Null(await view.Page.EvaluateAsync<object?>("window.broken ?? null"));

        // Nothing but what scrolls in its own frame reaches beyond the window.
        Assert.Equal(widthPx, await view.Page.EvaluateAsync<int>("document.documentElement.scrollWidth"));
        string beyond =
            await view.Page.EvaluateAsync<string>(
                "[...document.querySelectorAll('main *')].filter(e => !e.parentElement.closest('.scroll, svg') && "
                + "e.getBoundingClientRect().right > innerWidth + 0.5).map(e => e.outerHTML.slice(0, 80)).join('\\n')");
        Assert.Equal("", beyond);

        AxeResult axe = await view.Page.RunAxe();
        output.WriteLine(
            $"axe-core {axe.TestEngine?.Version}: {axe.Passes.Length} rules passed, undecided: "
            + $"{string.Join("; ", axe.Incomplete.Select(i => $"{i.Id} at {i.Nodes.Length} places"))}");
        Assert.Equal("", string.Join("\n", axe.Violations.Select(v => $"{v.Id}: {v.Help}: {v.Nodes[0].Html}")));
        Assert.Contains(axe.Passes, p => p.Id == "color-contrast");
        // What axe cannot decide is the text of drawings and cells beyond the edge of a scrolling frame; ContrastTests
        // can.
        Assert.All(axe.Incomplete.SelectMany(i => i.Nodes),
            n => Assert.Matches("^<(text|td|th|span class=\"unit\")", n.Html));

        Assert.Empty(view.Complaints);
        Assert.Single(view.Requests, r => !r.StartsWith("data:", StringComparison.Ordinal));
    }

    [SkippableFact]
    public async Task Axe_would_have_noticed_a_red_that_is_too_deep()
    {
        Browser.MustBeThere();
        await using View view = await browser.Open(pages.Make("profile", true), 1280);
        await view.Page.EvaluateAsync("document.documentElement.style.setProperty('--ink', '#b00000')");
        AxeResult axe = await view.Page.RunAxe();
        Assert.Contains(axe.Violations, v => v.Id == "color-contrast");
    }

    [SkippableFact]
    public async Task The_night_switch_works_by_keyboard_and_is_forgotten_with_the_view()
    {
        Browser.MustBeThere();
        await using View view = await browser.Open(pages.Make("profile", false), 390);
        ILocator button = view.Page.GetByRole(AriaRole.Button, new PageGetByRoleOptions { Name = "Night red" });
        await view.Page.Keyboard.PressAsync("Tab");
        Assert.True(await button.EvaluateAsync<bool>("b => b === document.activeElement"));
        foreach ((string key, string pressed, string paper) in new[] { ("Space", "true", "rgb(0, 0, 0)"),
            ("Enter", "false", "rgb(255, 255, 255)"), ("Enter", "true", "rgb(0, 0, 0)") })
        {
            await view.Page.Keyboard.PressAsync(key);
            Assert.Equal(pressed, await button.GetAttributeAsync("aria-pressed"));
            Assert.Equal(paper,
                await view.Page.EvaluateAsync<string>("getComputedStyle(document.body).backgroundColor"));
        }

        await view.Page.ReloadAsync();
        Assert.Equal("false", await button.GetAttributeAsync("aria-pressed"));
        Assert.Equal("rgb(255, 255, 255)",
            await view.Page.EvaluateAsync<string>("getComputedStyle(document.body).backgroundColor"));
    }

    [SkippableFact]
    public async Task A_wide_table_scrolls_by_keyboard_in_its_own_frame()
    {
        Browser.MustBeThere();
        await using View view = await browser.Open(pages.Make("sampler", false), 390);
        await view.Page.Keyboard.PressAsync("Tab");
        await view.Page.Keyboard.PressAsync("Tab");
        Assert.Equal("scroll", await view.Page.EvaluateAsync<string>("document.activeElement.className"));
        await view.Page.Keyboard.PressAsync("ArrowRight");
        // Asked again and again from outside: the page's own policy lets no one wait inside it.
        for (int i = 0; i < 100 && await view.Page.EvaluateAsync<double>("document.activeElement.scrollLeft") == 0; i++)
        {
            await Task.Delay(50);
        }

        Assert.True(await view.Page.EvaluateAsync<double>("document.activeElement.scrollLeft") > 0);
    }

    [SkippableTheory]
    [MemberData(nameof(Each))]
    public async Task At_night_the_screen_shows_no_green_and_no_blue(string name)
    {
        Browser.MustBeThere();
        foreach (int widthPx in new[] { 390, 1280 })
        {
            await using View view = await browser.Open(pages.Make(name, true), widthPx);
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
        Browser.MustBeThere();
        OutsideProgram.PdfToPpm.SkipIfMissing();
        string folder = Directory.CreateTempSubdirectory("hourhinge-print-").FullName;
        await using View view = await browser.Open(pages.Make(name, true), 390);
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
            Keep(await File.ReadAllBytesAsync(sheet), "print-" + Path.GetFileNameWithoutExtension(sheet));
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
        Browser.MustBeThere();
        // 180 mm between the margins of A4, at the 96 px an inch of CSS.
        await using View view = await browser.Open(pages.Make(name, false), 680);
        await view.Page.EmulateMediaAsync(new PageEmulateMediaOptions { Media = Media.Print });
        string beyond =
            await view.Page.EvaluateAsync<string>(
                "[...document.querySelectorAll('main *')].filter(e => !e.closest('caption') && "
                + "e.getBoundingClientRect().right > innerWidth + 0.5).map(e => e.outerHTML.slice(0, 80)).join('\\n')");
        Assert.Equal("", beyond);
    }

    private static async Task Keep(View view, string name)
    {
        if (Environment.GetEnvironmentVariable("HOURHINGE_SHOTS") != null)
        {
            Keep(await view.Page.ScreenshotAsync(new PageScreenshotOptions { FullPage = true }), name);
        }
    }

    private static void Keep(byte[] png, string name)
    {
        if (Environment.GetEnvironmentVariable("HOURHINGE_SHOTS") is { } folder)
        {
            File.WriteAllBytes(Path.Combine(Directory.CreateDirectory(folder).FullName, name + ".png"), png);
        }
    }
}
