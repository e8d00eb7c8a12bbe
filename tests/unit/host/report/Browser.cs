// A browser for the report tests: Chromium, driven by Playwright. The checks are in PageInBrowserTests.cs.

using Hourhinge.Tests.Support;
using Microsoft.Playwright;

namespace Hourhinge.Tests.Host.Report;

/// <summary>One browser for all tests of a class; each view is a fresh, empty profile.</summary>
public sealed class Browser : IAsyncLifetime
{
    private IPlaywright? _playwright;
    private IBrowser? _browser;

    /// <summary>Skips, loudly, where there is no browser.</summary>
    public static void MustBeThere() => OutsideProgram.Chromium.SkipIfMissing();

    public async Task InitializeAsync()
    {
        if (OutsideProgram.Chromium.File == null)
        {
            return;
        }

        _playwright = await Playwright.CreateAsync();
        _browser = await _playwright.Chromium.LaunchAsync(new BrowserTypeLaunchOptions
        {
            ExecutablePath = OutsideProgram.Chromium.File,
            Headless = true,
            Args = ["--no-sandbox", "--disable-gpu", "--disable-quic", "--no-first-run",
                "--disable-background-networking", "--disable-component-update", "--disable-sync"],
        });
    }

    /// <summary>Opens a file in a window of a width.</summary>
    public async Task<View> Open(string file, int widthPx)
    {
        IBrowserContext context = await _browser!.NewContextAsync(
            new BrowserNewContextOptions { ViewportSize = new ViewportSize { Width = widthPx, Height = 800 } });
        IPage page = await context.NewPageAsync();
        var view = new View(context, page);
        page.Console += (_, message) => view.Complaints.Add($"console {message.Type}: {message.Text}");
        page.PageError += (_, error) => view.Complaints.Add($"error: {error}");
        page.Request += (_, request) => view.Requests.Add(request.Url);
        await page.GotoAsync(new Uri(file).AbsoluteUri);
        return view;
    }

    public async Task DisposeAsync()
    {
        if (_browser != null)
        {
            await _browser.DisposeAsync();
        }

        _playwright?.Dispose();
    }
}

/// <summary>An open page, what it complained of, and what it asked the network for.</summary>
public sealed class View(IBrowserContext context, IPage page) : IAsyncDisposable
{
    public IPage Page { get; } = page;

    public List<string> Complaints { get; } = [];

    public List<string> Requests { get; } = [];

    public async ValueTask DisposeAsync() => await context.DisposeAsync();
}
