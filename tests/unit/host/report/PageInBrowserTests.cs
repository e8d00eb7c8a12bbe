// Each page opened in a browser: narrow and wide window, day and night theme, and printed.
// Accessibility is judged by axe-core (Deque), rules of WCAG 2.2. HOURHINGE_SHOTS=folder keeps the pictures.

using Hourhinge.Tests.Support;
using Microsoft.Playwright;
using Xunit.Abstractions;

namespace Hourhinge.Tests.Host.Report;

public class PageInBrowserTests(ITestOutputHelper output)
{
    [SkippableTheory]
    [MemberData(nameof(Pages.Each), MemberType = typeof(Pages))]
    public async Task By_night_it_is_red_on_a_phone_and_on_a_wide_screen_and_prints_black_on_white(string name)
    {
        OutsideProgram.Chromium.SkipIfMissing();
        OutsideProgram.PdfToPpm.SkipIfMissing();
        await using View view = await Browser.Open(Pages.Make(name, true), Pages.NarrowPx);
        await FitsTheWindow(view, Pages.NarrowPx, "night", name);
        await PassesAxe(view, "color-contrast");
        await RenderedPage.HasNoGreenAndNoBlue(view);
        output.WriteLine($"{name}: {await RenderedPage.PrintsBlackOnWhiteOnA4(view, name)} sheets");
        await view.Page.SetViewportSizeAsync(1280, 800);
        await FitsTheWindow(view, 1280, "night", name);
        await RenderedPage.HasNoGreenAndNoBlue(view);
        OpensInPeace(view);
    }

    [SkippableTheory]
    [MemberData(nameof(Pages.Each), MemberType = typeof(Pages))]
    public async Task By_day_it_fits_a_wide_screen_a_phone_and_paper(string name)
    {
        OutsideProgram.Chromium.SkipIfMissing();
        await using View view = await Browser.Open(Pages.Make(name, false), 1280);
        await FitsTheWindow(view, 1280, "day", name);
        await PassesAxe(view);
        await view.Page.SetViewportSizeAsync(Pages.NarrowPx, 800);
        await FitsTheWindow(view, Pages.NarrowPx, "day", name);
        if (name != "sampler") // Its words are longer than a phone is wide, on purpose.
        {
            await CutsNoTableAndNoWord(view);
        }

        await RenderedPage.FitsThePaper(view);
        OpensInPeace(view);
    }

    private static void OpensInPeace(View view)
    {
        Assert.Empty(view.Complaints);
        Assert.Single(view.Requests, r => !r.StartsWith("data:", StringComparison.Ordinal));
    }

    private static async Task FitsTheWindow(View view, int widthPx, string theme, string name)
    {
        await view.Keep($"{name}-{widthPx}-{theme}");
        Assert.Equal(theme, await view.Page.EvaluateAsync<string>("document.documentElement.dataset.theme"));
        Assert.Null(await view.Page.EvaluateAsync<object?>("window.broken ?? null"));
        // Nothing but what scrolls in its own frame reaches beyond the window.
        Assert.Equal(widthPx, await view.Page.EvaluateAsync<int>("document.documentElement.scrollWidth"));
        Assert.Equal("", await view.Page.EvaluateAsync<string>(
            "[...document.querySelectorAll('main *')].filter(e => !e.parentElement.closest('.scroll, svg') && "
            + "e.getBoundingClientRect().right > innerWidth + 0.5).map(e => e.outerHTML.slice(0, 80)).join('\\n')"));
    }

    // The structure is the same in both themes, the colours are not.
    private async Task PassesAxe(View view, string? rule = null)
    {
        AxeFindings axe = await AxeFindings.Of(view.Page, rule);
        output.WriteLine($"axe-core {axe.Version}: {axe.Passed.Count} rules passed, undecided: {axe.Undecided.Count} "
            + "places");
        Assert.Empty(axe.Violations);
        Assert.Contains("color-contrast", axe.Passed);
        // What axe cannot decide is the text of drawings and cells beyond the edge of a scrolling frame; ContrastTests
        // can.
        Assert.All(axe.Undecided, html => Assert.Matches("^<(text|td|th|span class=\"unit\")", html));
    }

    // On a phone: no table is cut or scrolls sideways, and no label is broken inside a word.
    private static async Task CutsNoTableAndNoWord(View view)
    {
        string cut = await view.Page.EvaluateAsync<string>(
            "[...document.querySelectorAll('.scroll')].filter(e => e.scrollWidth > e.clientWidth + 1)"
            + ".map(e => e.getAttribute('aria-labelledby') + ' ' + e.scrollWidth).join()");
        Assert.Equal("", cut);
        string broken = await view.Page.EvaluateAsync<string>(
            """
            (() => {
              const found = [], walk = document.createTreeWalker(document.querySelector('main'), NodeFilter.SHOW_TEXT);
              for (let node; node = walk.nextNode();) {
                if (node.parentElement.closest('svg, caption, thead')) continue;
                for (const word of node.data.matchAll(/[\p{L}\d'_-]{2,}/gu)) {
                  const range = document.createRange();
                  range.setStart(node, word.index);
                  range.setEnd(node, word.index + word[0].length);
                  const tops = new Set([...range.getClientRects()].map(r => Math.round(r.top)));
                  if (tops.size > 1 && !/[_-]/.test(word[0])) found.push(word[0]);
                }
              }
              return found.join();
            })()
            """);
        Assert.Equal("", broken);
    }

    [SkippableFact]
    public async Task Axe_would_have_noticed_a_red_that_is_too_deep()
    {
        OutsideProgram.Chromium.SkipIfMissing();
        await using View view = await Browser.Open(Pages.Make("profile", true), 1280);
        await view.Page.EvaluateAsync("document.documentElement.style.setProperty('--ink', '#b00000')");
        AxeFindings axe = await AxeFindings.Of(view.Page, "color-contrast");
        Assert.Contains(axe.Violations, v => v.StartsWith("color-contrast", StringComparison.Ordinal));
    }

    [SkippableFact]
    public async Task The_night_switch_works_by_keyboard_and_is_forgotten_with_the_view()
    {
        OutsideProgram.Chromium.SkipIfMissing();
        await using View view = await Browser.Open(Pages.Make("profile", false), Pages.NarrowPx);
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
    public async Task The_nights_page_counts_down_by_the_devices_own_clock()
    {
        OutsideProgram.Chromium.SkipIfMissing();
        await using View view = await Browser.Open(Pages.Make("night", true), Pages.NarrowPx);
        ILocator left = view.Page.Locator(".countdown .left");
        string[] at = [.. (await view.Page.Locator(".countdown li").EvaluateAllAsync<string[]>(
            "all => all.map(e => e.dataset.at + ' ' + e.dataset.label)"))];
        Assert.True(at.Length >= 4);
        for (int i = 0; i < at.Length; i++)
        {
            string[] parts = at[i].Split(' ', 2);
            var time = DateTimeOffset.FromUnixTimeMilliseconds(
                long.Parse(parts[0], System.Globalization.CultureInfo.InvariantCulture));
            // Shortly before each event, so that the one before it is over.
            await view.Page.Clock.SetFixedTimeAsync(time.AddSeconds(-65).UtcDateTime);
            await Assertions.Expect(left).ToHaveTextAsync($"{parts[1]} in 0:01:05");
        }

        await view.Page.Clock.SetFixedTimeAsync(new DateTime(2030, 1, 1, 0, 0, 0, DateTimeKind.Utc));
        await Assertions.Expect(left).ToHaveTextAsync("All of it is over.");
        Assert.Empty(view.Complaints);
        Assert.Single(view.Requests, r => !r.StartsWith("data:", StringComparison.Ordinal));
    }

    [SkippableFact]
    public async Task A_wide_table_scrolls_by_keyboard_in_its_own_frame()
    {
        OutsideProgram.Chromium.SkipIfMissing();
        await using View view = await Browser.Open(Pages.Make("sampler", false), Pages.NarrowPx);
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
}
