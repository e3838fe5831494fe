using System.Text;
using Contracts.Commands;
using Contracts.Host.Papers;
using Contracts.Host.Serving;
using Contracts.Host.Serving.Api;
using Contracts.Host.Story;
using Contracts.Host.Tests.Support;
using Contracts.Store;
using Contracts.Store.Seals;
using Microsoft.AspNetCore.Builder;
using Microsoft.AspNetCore.Hosting;
using Microsoft.Playwright;
using Xunit;

namespace Contracts.Host.Tests.Serving.Pages;

/// <summary>The invented school year behind a host that listens, and a Chromium of the machine to look at it; one for all tests.</summary>
public sealed class BrowserFixture(Server server) : IAsyncLifetime
{
    private readonly string signers = Directory.CreateTempSubdirectory("pages-signer-").FullName;
    private WebApplication? app;
    private ContractsStore? store;
    private IPlaywright? playwright;
    private IBrowser? browser;
    private string key = "";

    /// <summary>Names a folder in which pictures of the pages are kept for people to look at; no test needs them.</summary>
    private const string Pictures = "CONTRACTS_PICTURES";

    public string Address { get; private set; } = "";

    /// <summary>The key of the manager that the browser signs in with.</summary>
    public string Key => key;

    internal ContractsStore Store => store!;

    public async ValueTask InitializeAsync()
    {
        var program = Find();
        store = await ContractsStore.OpenAsync(await server.NewDatabaseAsync(), new StoreSettings(Server.Zone, true, PaperPress.Print, server.Keys));
        var lines = Encoding.UTF8.GetString(DemoLines()).Split('\n', StringSplitOptions.RemoveEmptyEntries);
        foreach (var batch in lines.Chunk(200))
        {
            var requests = batch.Select(line => CommandReader.Read(Encoding.UTF8.GetBytes(line)).Command).OfType<ReadCommand>().ToList();
            foreach (var part in Parts(requests))
            {
                if (part is [{ Command: Contracts.Agreements.Command.Bill bill, At: var at }]) { await store.Pipeline.BillAsync(bill, at, null, CancellationToken.None); }
                else { await store.Pipeline.ApplyAsync([.. part.Select(read => new CommandRequest(read.Command, read.At))]); }
            }
        }

        var signer = new FolderSigner(signers);
        await store.SealerWith(signer).SealAsync(anchor: true);
        key = (await store.Keys.MakeAsync("A manager", "manager", 1, "An owner")).Text;
        Auditor = (await store.Keys.MakeAsync("An auditor", "auditor", 1, "An owner")).Text;
        var settings = new ApiSettings { Burst = 1_000_000, RequestsPerSecond = 1_000_000, Signer = signer };
        var builder = ContractsHost.Builder(store, store.Connection.Everyday, settings);
        builder.WebHost.UseUrls("http://127.0.0.1:0");
        app = builder.Build();
        ContractsHost.Map(app);
        await app.StartAsync();
        Address = app.Urls.Single();
        playwright = await Playwright.CreateAsync();
        browser = await playwright.Chromium.LaunchAsync(new BrowserTypeLaunchOptions
        {
            ExecutablePath = program, Args = Environment.IsPrivilegedProcess ? ["--no-sandbox"] : [],
        });
    }

    /// <summary>The key of somebody who may have everything checked.</summary>
    public string Auditor { get; private set; } = "";

    /// <summary>A browser as somebody has it: a theme, a width, with or without script; axe has to be let past the policy of scripts.</summary>
    public async Task<IBrowserContext> OpenAsync(ColorScheme theme = ColorScheme.Light, int width = 1100, bool script = true, bool bypass = false) =>
        await browser!.NewContextAsync(new BrowserNewContextOptions
        {
            BaseURL = Address, ColorScheme = theme, ViewportSize = new ViewportSize { Width = width, Height = 900 }, JavaScriptEnabled = script, BypassCSP = bypass,
            ExtraHTTPHeaders = new Dictionary<string, string> { ["Authorization"] = $"Bearer {key}" },
        });

    /// <summary>Keeps a picture of a whole page, where somebody wants to look.</summary>
    public static async Task PictureAsync(IPage page, string name)
    {
        if (Environment.GetEnvironmentVariable(Pictures) is not { Length: > 0 } folder) { return; }
        await page.ScreenshotAsync(new PageScreenshotOptions { Path = Path.Combine(folder, name), FullPage = true });
    }

    public async ValueTask DisposeAsync()
    {
        if (browser is not null) { await browser.CloseAsync(); }
        playwright?.Dispose();
        if (app is not null) { await app.DisposeAsync(); }
        if (store is not null) { await store.DisposeAsync(); }
        Directory.Delete(signers, recursive: true);
    }

    /// <summary>Billing runs stand alone; what lies between them goes together.</summary>
    private static IEnumerable<List<ReadCommand>> Parts(List<ReadCommand> commands)
    {
        var part = new List<ReadCommand>();
        foreach (var command in commands)
        {
            if (command.Command is not (Contracts.Agreements.Command.Bill or Contracts.Agreements.Command.Close))
            {
                part.Add(command);
                continue;
            }

            if (part.Count > 0) { yield return part; }
            if (command.Command is Contracts.Agreements.Command.Bill) { yield return [command]; }
            part = [];
        }

        if (part.Count > 0) { yield return part; }
    }

    private static byte[] DemoLines()
    {
        using var stream = typeof(DemoCommand).Assembly.GetManifestResourceStream("school-year.jsonl")!;
        using var bytes = new MemoryStream();
        stream.CopyTo(bytes);
        return bytes.ToArray();
    }

    /// <summary>A Chromium of the machine. Without one the tests are skipped; on a build server they fail.</summary>
    private static string Find()
    {
        var found = (Environment.GetEnvironmentVariable("PATH") ?? "").Split(Path.PathSeparator)
            .SelectMany(folder => new[] { "chromium", "chromium-browser", "google-chrome" }.Select(name => Path.Combine(folder, name))).FirstOrDefault(File.Exists);
        if (found is not null) { return found; }
        const string missing = "chromium is missing; the package chromium brings it.";
        if (Environment.GetEnvironmentVariable("CI") == "true") { Assert.Fail(missing); }
        Assert.Skip(missing);
        return "";
    }
}
