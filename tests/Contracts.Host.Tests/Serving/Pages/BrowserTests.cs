using System.Globalization;
using Deque.AxeCore.Commons;
using Microsoft.Playwright;
using Xunit;

namespace Contracts.Host.Tests.Serving.Pages;

/// <summary>The pages in a real browser: the first minutes of each user, accessibility, keys, narrow screens, paper, and no script.</summary>
public sealed class BrowserTests(BrowserFixture shop) : IClassFixture<BrowserFixture>
{
    private static readonly string[] Pages =
    [
        "/fleet?from=2026-08-01&through=2027-06-15", "/unit/HC-0417", "/money-files", "/accounts", "/accounts?status=active&met=correction", "/accounts?on=2026-12-07&known=2026-12-07&later=moved", "/checks", "/checks?run=yes", "/jobs", "/account/C-1042/disclosures", "/account/C-1042?kind=correction",
        "/sign?like=C-1042", "/account/C-1042/compare?on=2026-12-07&known=2026-12-07&withOn=2026-12-07",
        "/household/H-242", "/household/H-242?on=2027-06-15&amount=10.00&method=cash&share.C-1042=10.00",
        "/", "/?q=H-242", "/account/C-1042", "/account/C-1042?on=2026-12-07&known=2026-12-07", "/account/C-1042/why/paid.total", "/account/C-1042/replay", "/account/C-1042/statement?from=2027-02-01&through=2027-05-20",
        "/account/C-1002/do/pay?on=2027-06-15&amount=50.00&method=cash", "/account/C-1002/do/buy?on=2027-06-15&amount=1.00&method=cash", "/account/C-9", "/months", "/law", "/law/NY", "/seals",
        "/account/C-1042/why/earlyPurchase.payoff?on=2027-05-19", "/account/C-1042/replay?until=pastDue+%3E+5",
        "/account/C-1042/why/statement.received?paper=C-1042-statement-1", "/reports/portfolio/why/equity", "/account/C-1042/dispute?on=2026-12-07",
        "/account/C-1042/what-if?on=2027-03-31&what=redate&fact=C-1042-007&day=2026-12-15", "/proposals", "/proposals/P-1", "/proposals/P-3",
        "/quote?like=C-1042", "/months/2027-05", "/account/C-1002/do/exchange",
    ];

    /// <summary>What a page may bring over the line, in bytes, with nothing in a cache: the page, its style, its script, its icon.</summary>
    private const int Heaviest = 100_000;

    /// <summary>Names a file into which the times to the first paint are written; a test holds no time.</summary>
    private const string Measure = "CONTRACTS_MEASURE_PAGES";
    private const int Looks = 9;

    [Fact]
    public async Task No_page_is_heavier_than_a_hundred_kilobytes_without_a_cache()
    {
        var (heavy, told) = (new List<string>(), new List<string> { "fresh: median\tlongest\topen: median\tlongest ms\tbytes\tpage" });
        var file = Environment.GetEnvironmentVariable(Measure);
        await using var open = await shop.OpenAsync();
        var (kept, forgetful) = (await open.NewPageAsync(), await open.NewPageAsync());
        var browser = await open.NewCDPSessionAsync(forgetful);
        await browser.SendAsync("Network.enable");
        await browser.SendAsync("Network.setCacheDisabled", new Dictionary<string, object> { ["cacheDisabled"] = true });
        // The page that asks who is there needs no database: what it takes is the browser's own.
        foreach (var path in Pages.OrderBy(IsForAuditors).Prepend("/sign-in"))
        {
            await GoAsync(forgetful, path);
            var bytes = await forgetful.EvaluateAsync<int>("[...performance.getEntriesByType('navigation'), ...performance.getEntriesByType('resource')].reduce((sum, one) => sum + one.transferSize, 0)");
            Assert.True(bytes > 0, path);
            if (bytes > Heaviest) { heavy.Add($"{path}: {bytes}"); }
            if (file is null) { continue; }
            var (cold, warm) = (new List<double>(), new List<double>());
            for (var look = 0; look < Looks; look++)
            {
                await using var fresh = await shop.OpenAsync();
                cold.Add(await PaintAsync(await fresh.NewPageAsync(), path));
                warm.Add(await PaintAsync(kept, path));
            }

            told.Add(string.Create(CultureInfo.InvariantCulture, $"{cold.Order().ElementAt(cold.Count / 2):F0}\t{cold.Max():F0}\t{warm.Order().ElementAt(warm.Count / 2):F0}\t{warm.Max():F0}\t{bytes}\t{path}"));
        }

        if (file is not null) { await File.WriteAllLinesAsync(file, told, TestContext.Current.CancellationToken); }
        Assert.Empty(heavy);
    }

    /// <summary>Opens a page and says after how many milliseconds there was something to see.</summary>
    private async Task<double> PaintAsync(IPage page, string path)
    {
        await GoAsync(page, path);
        return await page.EvaluateAsync<double>(
            "new Promise(done => new PerformanceObserver(list => list.getEntriesByName('first-contentful-paint').forEach(one => done(one.startTime))).observe({ type: 'paint', buffered: true }))");
    }

    private async Task GoAsync(IPage page, string path)
    {
        if (IsForAuditors(path)) { await page.SetExtraHTTPHeadersAsync(new Dictionary<string, string> { ["Authorization"] = $"Bearer {shop.Auditor}" }); }
        await page.GotoAsync(path);
    }

    private static bool IsForAuditors(string path) => path.StartsWith("/checks", StringComparison.Ordinal) || path.StartsWith("/jobs", StringComparison.Ordinal);

    // The number at its end is what comes back: axe itself, as JSON, is long.
    private static readonly string Axe = new BundledAxeScriptProvider().GetScript() + ";0";

    /// <summary>What axe finds, without what it looked at and found in order: sending that takes ten times as long as finding it.</summary>
    private const string AxeRun =
        "async () => (await axe.run(document, { resultTypes: ['violations'] })).violations.map(one => `${one.id}: ${one.nodes[0].html}`)";

    [Fact]
    public async Task No_page_has_anything_that_axe_or_the_console_finds_and_none_is_wider_than_its_window()
    {
        await using var context = await shop.OpenAsync(bypass: true);
        var page = await context.NewPageAsync();
        var errors = new List<string>();
        page.Console += (_, message) =>
        {
            // A page of a refusal has its own status, which the console notes.
            if (message.Type == "error" && !message.Text.Contains("the server responded with a status of 4", StringComparison.Ordinal)) { errors.Add(message.Text); }
        };
        page.PageError += (_, error) => errors.Add(error);
        foreach (var path in Pages.OrderBy(IsForAuditors))
        {
            await GoAsync(page, path);
            await page.EvaluateAsync(Axe);
            await LookAsync(page, path, ColorScheme.Light, 1100);
            await LookAsync(page, path, ColorScheme.Dark, 320);
            Assert.Empty(errors);
        }
    }

    private static async Task LookAsync(IPage page, string path, ColorScheme theme, int width)
    {
        await page.EmulateMediaAsync(new PageEmulateMediaOptions { ColorScheme = theme });
        await page.SetViewportSizeAsync(width, 900);
        var found = await page.EvaluateAsync<string[]>(AxeRun);
        Assert.True(found.Length == 0, $"{path} {theme} {width}: {string.Join("; ", found)}");
        Assert.True(await page.EvaluateAsync<int>("document.documentElement.scrollWidth") <= width, $"{path} is wider than {width}");
        var name = string.Concat(path.Select(letter => char.IsLetterOrDigit(letter) ? letter : '-')).Trim('-');
        await BrowserFixture.PictureAsync(page, $"{(name.Length == 0 ? "find" : name)}-{theme}-{width}.png".ToLowerInvariant());
    }

    [Fact]
    public async Task What_is_folded_on_the_screen_is_on_paper()
    {
        await using var context = await shop.OpenAsync(script: false);
        var page = await context.NewPageAsync();
        foreach (var (path, folded) in new[] { ("/account/C-1042", ".month tbody tr"), ("/account/C-1042/compare?on=2026-10-01&withOn=2027-05-20", ".fold tbody tr") })
        {
            await page.GotoAsync(path);
            Assert.False(await page.Locator(folded).Last.IsVisibleAsync(), path);
            await page.EmulateMediaAsync(new PageEmulateMediaOptions { Media = Media.Print });
            Assert.True(await page.Locator(folded).Last.IsVisibleAsync(), path);
            await page.EmulateMediaAsync(new PageEmulateMediaOptions { Media = Media.Screen });
            // By the keyboard alone it opens on the screen too.
            await page.Locator("details:has(tbody)").Last.Locator("summary").FocusAsync();
            await page.Keyboard.PressAsync("Enter");
            Assert.True(await page.Locator(folded).Last.IsVisibleAsync(), path);
        }
    }

    [Fact]
    public async Task A_reviewer_reconstructs_an_account_without_reading_anything_first()
    {
        await using var context = await shop.OpenAsync();
        var page = await context.NewPageAsync();
        await page.GotoAsync("/");
        await page.GetByRole(AriaRole.Searchbox).FillAsync("H-242");
        await page.Keyboard.PressAsync("Enter");
        await Expect(page, "Contract C-1042");
        await page.GetByLabel("On the day").FillAsync("2026-12-07");
        await page.GetByLabel("As known at").FillAsync("2026-12-07");
        await page.GetByRole(AriaRole.Button, new() { Name = "Look" }).ClickAsync();
        await Assertions.Expect(page.Locator(".band")).ToContainTextAsync("as known at 7 Dec 2026");
        Assert.Equal("$94.50", await FigureAsync(page, "equity"));
        Assert.Contains("as known at 7 Dec 2026", await page.Locator(".band").InnerTextAsync(), StringComparison.Ordinal);
        Assert.Contains("126.00", await page.GetByRole(AriaRole.Region, new() { Name = "Figures that changed" }).InnerTextAsync(), StringComparison.Ordinal);
        await page.GetByLabel("As known at").FillAsync("2026-12-10");
        await page.GetByRole(AriaRole.Button, new() { Name = "Look" }).ClickAsync();
        await Assertions.Expect(page.Locator(".band")).ToContainTextAsync("as known at 10 Dec 2026");
        Assert.Equal("$126.00", await FigureAsync(page, "equity"));
        await page.GetByRole(AriaRole.Link, new() { Name = "rent paid" }).ClickAsync();
        await page.GetByRole(AriaRole.Region, new() { Name = "The events that make it" }).WaitForAsync();
        var parts = await page.Locator("tbody td.n:last-child").AllInnerTextsAsync();
        Assert.Equal(126.00m, parts.Sum(part => decimal.Parse(part, CultureInfo.InvariantCulture)));
    }

    [Fact]
    public async Task A_counter_takes_money_by_keyboard_alone_and_sees_the_effect_first()
    {
        await using var context = await shop.OpenAsync();
        var page = await context.NewPageAsync();
        await page.GotoAsync("/account/C-1002");
        await page.GetByRole(AriaRole.Link, new() { Name = "Take money" }).FocusAsync();
        await page.Keyboard.PressAsync("Enter");
        await Expect(page, "Take money, contract C-1002");
        await page.GetByLabel("Amount, $").FocusAsync();
        await page.Keyboard.TypeAsync("12.34");
        await page.Keyboard.PressAsync("Enter");
        await page.GetByRole(AriaRole.Button, new() { Name = "Record payment" }).WaitForAsync();
        Assert.Contains("nothing is recorded yet", await page.InnerTextAsync("main"), StringComparison.Ordinal);
        await page.GetByRole(AriaRole.Button, new() { Name = "Record payment" }).FocusAsync();
        await page.Keyboard.PressAsync("Enter");
        await Assertions.Expect(page.GetByRole(AriaRole.Region, new() { Name = "Last recorded first" })).ToContainTextAsync("12.34");
    }

    [Fact]
    public async Task The_keys_find_and_step_through_events()
    {
        await using var context = await shop.OpenAsync();
        var page = await context.NewPageAsync();
        await page.GotoAsync("/account/C-1042?on=2026-12-05");
        foreach (var (key, day) in new[] { ("]", "2027-01-05"), ("[", "2026-12-05"), ("t", "2027-06-15") })
        {
            await page.Keyboard.PressAsync(key);
            await Assertions.Expect(page.GetByLabel("On the day")).ToHaveValueAsync(day);
            await page.WaitForLoadStateAsync(LoadState.Load);
        }

        await page.Keyboard.PressAsync("/");
        await Expect(page, "Find");
        await Assertions.Expect(page.GetByRole(AriaRole.Searchbox)).ToBeFocusedAsync();
    }

    [Fact]
    public async Task Everything_is_read_without_script_and_the_skip_link_leads_to_the_page()
    {
        await using var context = await shop.OpenAsync(script: false);
        var page = await context.NewPageAsync();
        await page.GotoAsync("/account/C-1042?on=2026-12-07&known=2026-12-07");
        Assert.Equal("$94.50", await FigureAsync(page, "equity"));
        await page.GetByText("The same as a table").ClickAsync();
        Assert.True(await page.GetByRole(AriaRole.Table).First.IsVisibleAsync());
        await page.GotoAsync("/account/C-1042");
        await page.Keyboard.PressAsync("Tab");
        await page.Keyboard.PressAsync("Enter");
        Assert.EndsWith("#main", page.Url, StringComparison.Ordinal);
    }

    [Fact]
    public async Task Support_goes_from_what_a_family_says_to_what_was_said_known_and_is_so_and_on_to_a_proposal()
    {
        await using var context = await shop.OpenAsync();
        var page = await context.NewPageAsync();
        await page.GotoAsync("/account/C-1042?on=2026-12-07");
        await page.GetByRole(AriaRole.Link, new() { Name = "In a dispute" }).ClickAsync();
        await Expect(page, "In dispute: contract C-1042");
        var row = await page.GetByRole(AriaRole.Row, new() { Name = "equity" }).InnerTextAsync();
        Assert.Equal(["equity", "94.50", "94.50", "126.00"], row.Split('\t', StringSplitOptions.TrimEntries));
        await page.GotoAsync("/account/C-1002/dispute");
        await page.GetByRole(AriaRole.Link, new() { Name = "Give goodwill" }).ClickAsync();
        await page.GetByLabel("Amount, $").FillAsync("75.00");
        await page.GetByLabel("Why; it is kept").FillAsync("the flute was late");
        await page.GetByRole(AriaRole.Button, new() { Name = "Show what it does" }).ClickAsync();
        await page.GetByRole(AriaRole.Button, new() { Name = "Propose it" }).ClickAsync();
        await page.GetByText("Somebody else than A manager approves it").WaitForAsync();
        await page.GetByRole(AriaRole.Link, new() { Name = "Two persons" }).ClickAsync();
        await Expect(page, "Two persons");
        Assert.Contains("the flute was late", await page.GetByRole(AriaRole.Region, new() { Name = "Open, the last first" }).InnerTextAsync(), StringComparison.Ordinal);
    }

    [Fact]
    public async Task A_developer_opens_a_figure_down_to_the_rule_and_the_event_without_script()
    {
        await using var context = await shop.OpenAsync(script: false);
        var page = await context.NewPageAsync();
        await page.GotoAsync("/account/C-1042?on=2027-05-19");
        await page.GetByRole(AriaRole.Link, new() { Name = "why to buy today, all told" }).ClickAsync();
        await Expect(page, "Why to buy today, all told is $1025.14");
        foreach (var closed in await page.Locator("details:not([open]) > summary").AllAsync()) { if (await closed.IsVisibleAsync()) { await closed.ClickAsync(); } }
        Assert.Contains("money.md M", await page.Locator("details").First.InnerTextAsync(), StringComparison.Ordinal);
        await page.GotoAsync("/account/C-1042/compare?on=2026-12-07&known=2026-12-07&withOn=2026-12-07");
        await page.Locator("#equity > summary").ClickAsync();
        Assert.Contains("+31.50", await page.GetByRole(AriaRole.Region, new() { Name = "Why equity differs" }).InnerTextAsync(), StringComparison.Ordinal);
    }

    [Fact]
    public async Task On_paper_there_are_no_controls_and_the_day_and_the_knowledge_stay()
    {
        await using var context = await shop.OpenAsync();
        var page = await context.NewPageAsync();
        await page.GotoAsync("/account/C-1042?on=2026-12-07&known=2026-12-07");
        await page.EmulateMediaAsync(new PageEmulateMediaOptions { Media = Media.Print });
        Assert.False(await page.GetByRole(AriaRole.Button, new() { Name = "Look" }).IsVisibleAsync());
        Assert.False(await page.GetByRole(AriaRole.Link, new() { Name = "Months" }).IsVisibleAsync());
        Assert.True(await page.Locator(".band").IsVisibleAsync());
        Assert.True(await page.GetByText("Rent-to-own disclosure rules vary by state").IsVisibleAsync());
    }

    private static async Task Expect(IPage page, string title) => await page.GetByRole(AriaRole.Heading, new() { Name = title, Level = 1 }).WaitForAsync();

    private static async Task<string> FigureAsync(IPage page, string name) =>
        (await page.Locator($"dl.figures div:has(dt:text-is(\"{name}\")) dd").InnerTextAsync()).Trim().Split(' ')[0];
}
