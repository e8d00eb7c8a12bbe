// The browser of the report tests: Chromium, driven by Playwright, one for all test classes. The checks are in
// PageInBrowserTests.cs and RenderedPageTests.cs.

using Hourhinge.Tests.Support;
using Microsoft.Playwright;

namespace Hourhinge.Tests.Host.Report;

/// <summary>Starts on first use and ends with the test process; each view is a fresh, empty profile.</summary>
public static class Browser
{
    private static readonly Lazy<Task<IBrowser>> _browser = new(Start);

    /// <summary>Opens a file in a window of a width.</summary>
    public static async Task<View> Open(string file, int widthPx)
    {
        IBrowser browser = await _browser.Value;
        IBrowserContext context = await browser.NewContextAsync(
            new BrowserNewContextOptions { ViewportSize = new ViewportSize { Width = widthPx, Height = 800 } });
        IPage page = await context.NewPageAsync();
        var view = new View(context, page);
        page.Console += (_, message) => view.Complaints.Add($"console {message.Type}: {message.Text}");
        page.PageError += (_, error) => view.Complaints.Add($"error: {error}");
        page.Request += (_, request) => view.Requests.Add(request.Url);
        await page.GotoAsync(new Uri(file).AbsoluteUri);
        return view;
    }

    private static async Task<IBrowser> Start()
    {
        IPlaywright playwright = await Playwright.CreateAsync();
        IBrowser browser = await playwright.Chromium.LaunchAsync(new BrowserTypeLaunchOptions
        {
            ExecutablePath = OutsideProgram.Chromium.File,
            Headless = true,
            Args = ["--no-sandbox", "--disable-gpu", "--disable-quic", "--no-first-run",
                "--disable-background-networking", "--disable-component-update", "--disable-sync"],
        });
        AppDomain.CurrentDomain.ProcessExit += (_, _) => playwright.Dispose();
        return browser;
    }
}

/// <summary>An open page, its error messages, and its requests to the network.</summary>
public sealed class View(IBrowserContext context, IPage page) : IAsyncDisposable
{
    public IPage Page { get; } = page;

    public List<string> Complaints { get; } = [];

    public List<string> Requests { get; } = [];

    public async ValueTask DisposeAsync() => await context.DisposeAsync();

    /// <summary>Keeps a picture of the page when HOURHINGE_SHOTS names a folder.</summary>
    public async Task Keep(string name)
    {
        if (Environment.GetEnvironmentVariable("HOURHINGE_SHOTS") != null)
        {
            Keep(await Page.ScreenshotAsync(new PageScreenshotOptions { FullPage = true }), name);
        }
    }

    /// <summary>Keeps a PNG when HOURHINGE_SHOTS names a folder.</summary>
    public static void Keep(byte[] png, string name)
    {
        if (Environment.GetEnvironmentVariable("HOURHINGE_SHOTS") is { } folder)
        {
            File.WriteAllBytes(Path.Combine(Directory.CreateDirectory(folder).FullName, name + ".png"), png);
        }
    }
}
