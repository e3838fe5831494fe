using System.Net;
using Contracts.Host.Serving.Pages;
using Contracts.Host.Serving.SignIn;
using Contracts.Host.Tests.Serving.Api;
using Contracts.Host.Tests.Support;
using Xunit;

namespace Contracts.Host.Tests.Serving.Pages;

/// <summary>Pages as a program sees them: who may open which, the figures of the command line on them, and what a form does.</summary>
public sealed class PageTests(Server server)
{
    [Fact]
    public async Task Every_page_opens_for_the_roles_of_the_table_and_for_no_other()
    {
        await using var running = await ShopAsync();
        await running.AppliedAsync("support", """{"do":"propose","key":"p1","at":"2026-09-24T12:00:00Z","proposal":"P-1","reason":"r","change":{"do":"hold","contract":"C-1","on":"2026-09-24"}}""");
        foreach (var door in PageHost.All)
        {
            var path = door.Route.Replace("{contract}", "C-1", StringComparison.Ordinal).Replace("{*figure}", "paid.total", StringComparison.Ordinal).Replace("{report}", "portfolio", StringComparison.Ordinal).Replace("{*serial}", "S-1", StringComparison.Ordinal)
                .Replace("{deed}", "pay", StringComparison.Ordinal).Replace("{proposal}", "P-1", StringComparison.Ordinal).Replace("{household}", "H", StringComparison.Ordinal).Replace("{month}", "2026-09", StringComparison.Ordinal).Replace("{code}", "NY", StringComparison.Ordinal);
            Assert.NotEqual(HttpStatusCode.OK, (await running.GetAsync(null, path)).Status);
            foreach (var role in Roles.All)
            {
                var answer = await running.GetAsync(role, path);
                Assert.True(answer.Status == (door.Roles.Contains(role) ? HttpStatusCode.OK : HttpStatusCode.Forbidden), $"{path} as {role}: {answer.Status}");
            }
        }
    }

    [Fact]
    public async Task The_account_on_a_page_is_the_account_of_the_command_line()
    {
        await using var running = await ShopAsync();
        foreach (var (query, options) in new (string, string[])[]
        {
            ("", []), ("?on=2026-09-05", ["--on", "2026-09-05"]), ("?on=2026-09-20&known=2026-09-10", ["--on", "2026-09-20", "--known", "2026-09-10"]),
        })
        {
            var page = (await running.GetAsync("support", $"/account/C-1{query}")).Text;
            var (exit, json, error) = await Shell.ContractsWithAsync(running.Database, ["account", "C-1", "--format", "json", .. options]);
            Assert.True(exit == 0, error);
            using var account = System.Text.Json.JsonDocument.Parse(json);
            foreach (var (label, path) in new[] { ("equity", "equity"), ("left to own", "remainingToOwn"), ("past due", "pastDue") })
            {
                Assert.Contains($"<dt>{label}</dt><dd>${account.RootElement.GetProperty(path).GetString()}", page, StringComparison.Ordinal);
            }

            Assert.Contains($"<th scope=\"row\"><a href=\"/account/C-1/why/paid.rent{query.Replace("&", "&amp;", StringComparison.Ordinal)}\">rent paid</a></th><td class=\"n\">{account.RootElement.GetProperty("paid").GetProperty("rent").GetString()}</td>", page, StringComparison.Ordinal);
        }
    }

    [Fact]
    public async Task A_past_knowledge_says_so_and_shows_what_was_learned_since()
    {
        await using var running = await ShopAsync();
        var now = (await running.GetAsync("compliance", "/account/C-1")).Text;
        Assert.DoesNotContain("You are looking at", now, StringComparison.Ordinal);
        var then = (await running.GetAsync("compliance", "/account/C-1?on=2026-09-20&known=2026-09-10")).Text;
        Assert.Contains("You are looking at 20 Sep 2026, as known at 10 Sep 2026 23:59:59", then, StringComparison.Ordinal);
        Assert.Contains("What we have learned since", then, StringComparison.Ordinal);
        Assert.Contains("<th scope=\"row\">paid in all</th><td class=\"n\">0.00</td><td class=\"n\">21.60</td>", then, StringComparison.Ordinal);
        Assert.Equal(HttpStatusCode.NotFound, (await running.GetAsync("compliance", "/account/C-1?on=2020-01-01")).Status);
        Assert.Equal(HttpStatusCode.BadRequest, (await running.GetAsync("compliance", "/account/C-1?on=never")).Status);
    }

    [Theory]
    [InlineData("C-1")]
    [InlineData("s-1")]
    [InlineData("ref-7")]
    [InlineData("pay-late")]
    public async Task What_is_in_hand_leads_to_the_account(string text)
    {
        await using var running = await ShopAsync();
        var answer = await running.GetAsync("support", $"/?q={text}");
        Assert.Equal((HttpStatusCode.Found, "/account/C-1"), (answer.Status, answer.Headers["Location"]));
        Assert.Contains("C-2", (await running.GetAsync("support", "/?q=h")).Text, StringComparison.Ordinal);
        Assert.Contains("Nothing is recorded as", (await running.GetAsync("support", "/?q=%25")).Text, StringComparison.Ordinal);
    }

    [Fact]
    public async Task A_form_shows_what_it_does_and_records_nothing_before_the_second_button()
    {
        await using var running = await ShopAsync();
        var before = await EventsAsync(running);
        var form = (await running.GetAsync("counter", "/account/C-2/do/pay?on=2026-09-24&amount=21.60&method=cash")).Text;
        Assert.Contains("payment received by cash", form, StringComparison.Ordinal);
        Assert.Contains("<th scope=\"row\">equity</th><td class=\"n\">0.00</td><td class=\"n\"><strong>20.00</strong></td>", form, StringComparison.Ordinal);
        Assert.Equal(before, await EventsAsync(running));

        var fields = PageForms.Hidden(form);
        var done = await PageForms.PostAsync(running, "counter", "/account/C-2/do/pay", fields);
        Assert.Equal((HttpStatusCode.Found, "/account/C-2?done=pay#events"), (done.Status, done.Headers["Location"]));
        Assert.Contains("<dt>equity</dt><dd>$20.00", (await running.GetAsync("counter", "/account/C-2")).Text, StringComparison.Ordinal);

        // The same button once more, and the same preview after somebody else was quicker.
        Assert.Equal(HttpStatusCode.Found, (await PageForms.PostAsync(running, "counter", "/account/C-2/do/pay", fields)).Status);
        Assert.Equal(before + 1, await EventsAsync(running));
        var late = await PageForms.PostAsync(running, "counter", "/account/C-2/do/pay", fields.Select(pair => pair.Key == "key" ? new("key", "another") : pair));
        Assert.Equal(HttpStatusCode.PreconditionFailed, late.Status);
        Assert.Contains("Look again, then decide", late.Text, StringComparison.Ordinal);
        Assert.Equal(before + 1, await EventsAsync(running));
    }

    [Fact]
    public async Task A_form_that_is_refused_says_why_and_keeps_what_was_filled_in()
    {
        await using var running = await ShopAsync();
        var buy = await running.GetAsync("counter", "/account/C-1/do/buy?on=2026-09-25&amount=1.00&method=cash");
        Assert.NotEqual(HttpStatusCode.OK, buy.Status);
        Assert.Contains("<strong>Not possible.</strong>", buy.Text, StringComparison.Ordinal);
        Assert.Contains("value=\"1.00\"", buy.Text, StringComparison.Ordinal);
        var text = (await running.GetAsync("manager", "/account/C-1/do/hold?on=2026-09-25&reason=%3Cscript%3Ealert(1)%3C%2Fscript%3E")).Text;
        Assert.DoesNotContain("<script>alert", text, StringComparison.Ordinal);
        // Who may not do it may propose it; who may not even do that is told so.
        Assert.Contains("Above 0.00 on one contract in 30 days, goodwill and waivers take a second person", (await running.GetAsync("counter", "/account/C-1/do/credit?on=2026-09-25&amount=1.00&reason=r")).Text, StringComparison.Ordinal);
        Assert.Equal(HttpStatusCode.Forbidden, (await running.GetAsync("developer", "/account/C-1/do/credit")).Status);
    }

    [Fact]
    public async Task A_developer_sees_figures_and_events_and_no_household_and_no_paper()
    {
        await using var running = await ShopAsync();
        await running.AppliedAsync("""{"do":"sign","key":"s3","at":"2026-09-24T12:00:00Z","contract":"C-3","on":"2026-09-24","household":"H-canary","instrument":{"kind":"flute","serial":"S-3","condition":"new"},"state":"OR","jurisdiction":"J","startOn":"2026-09-24","terms":{"cashPrice":"300.00","purchasePrice":"300.00","introductory":{"months":1,"payment":"20.00"},"monthlyRent":"30.00","creditShare":"1.00","earlyPurchase":[{"discount":"0.25"}],"lateFee":{"amount":"5.00","graceDays":7},"returnedPaymentFee":"0.00"},"accessories":[],"planElected":false}""");
        foreach (var path in new[] { "/", "/account/C-3", "/account/C-3/replay", "/account/C-3/why/paid.total" })
        {
            Assert.DoesNotContain("canary", (await running.GetAsync("developer", path)).Text, StringComparison.Ordinal);
        }

        Assert.Contains("Nothing is recorded as", (await running.GetAsync("developer", "/?q=h-canary")).Text, StringComparison.Ordinal);
        Assert.Contains("not for your role", (await running.GetAsync("developer", "/account/C-3")).Text, StringComparison.Ordinal);
        foreach (var path in new[] { "/account/C-3/why/equity?paper=r", "/v1/accounts/C-3/explain/equity?paper=r" })
        {
            Assert.Equal(HttpStatusCode.Forbidden, (await running.GetAsync("developer", path)).Status);
            Assert.Equal(HttpStatusCode.NotFound, (await running.GetAsync("support", path)).Status);
        }

        foreach (var path in new[] { "/", "/account/C-3", "/account/C-3/replay" }) { Assert.Contains("canary", (await running.GetAsync("support", path)).Text, StringComparison.Ordinal); }
    }

    [Fact]
    public async Task A_condition_shows_the_first_event_after_which_it_holds_and_what_is_wrong_with_it()
    {
        await using var running = await ShopAsync();
        var all = (await running.GetAsync("developer", "/account/C-1/replay")).Text;
        var found = (await running.GetAsync("developer", "/account/C-1/replay?until=event+%3D+payment-received")).Text;
        Assert.Contains("It first holds after event 2 of", found, StringComparison.Ordinal);
        Assert.Contains("<h2 id=\"e", all, StringComparison.Ordinal);
        Assert.Single(System.Text.RegularExpressions.Regex.Matches(found, "<h2 id=\"e"));
        Assert.Contains("It holds after none of the", (await running.GetAsync("developer", "/account/C-1/replay?until=equity+%3C+0")).Text, StringComparison.Ordinal);
        var wrong = await running.GetAsync("developer", "/account/C-1/replay?until=equty+%3Cb%3E0");
        Assert.Equal(HttpStatusCode.BadRequest, wrong.Status);
        Assert.Contains("Column 1: There is no figure", wrong.Text, StringComparison.Ordinal);
        Assert.DoesNotContain("equty <b>", wrong.Text, StringComparison.Ordinal);
    }

    [Fact]
    public async Task A_visit_is_written_down_before_the_page_comes()
    {
        await using var running = await ShopAsync();
        await running.GetAsync("support", "/account/C-1", ("X-Purpose", "a call"));
        var read = Assert.Single(await running.Store.Readings.OfAsync("C-1"));
        Assert.Equal(("A support", "/account/{contract}", "a call"), (read.By, read.Route, read.Purpose));
        await Server.RunAsync(running.Store.Connection.Owner!, "revoke insert on access.readings from contracts_app");
        Assert.Equal(HttpStatusCode.ServiceUnavailable, (await running.GetAsync("support", "/")).Status);
        Assert.Equal(HttpStatusCode.ServiceUnavailable, (await running.GetAsync("support", "/account/C-1")).Status);
        Assert.Equal(HttpStatusCode.ServiceUnavailable, (await running.GetAsync("counter", "/account/C-1/do/pay")).Status);
    }

    [Fact]
    public async Task Pages_are_small_and_the_looks_are_kept_by_the_browser()
    {
        await using var running = await ShopAsync();
        foreach (var path in new[] { "/", "/account/C-1", "/account/C-1/replay", "/law", "/law/NY", "/seals" })
        {
            Assert.InRange((await running.GetAsync("manager", path)).Bytes.Length, 500, 100_000);
        }

        var look = await running.GetAsync(null, "/look.css");
        Assert.Equal("text/css", look.Type);
        Assert.Equal(HttpStatusCode.NotModified, (await running.GetAsync(null, "/look.css", ("If-None-Match", look.Headers["ETag"]))).Status);
        Assert.Equal("no-store", (await running.GetAsync("manager", "/account/C-1")).Headers["Cache-Control"]);
    }

    private async Task<RunningApi> ShopAsync()
    {
        var running = await RunningApi.StartAsync(server);
        await running.AppliedAsync(Lines.Tax);
        await running.AppliedAsync(Lines.Sign("C-1", "S-1"));
        await running.AppliedAsync(Lines.Sign("C-2", "S-2"));
        await running.AppliedAsync("""{"do":"pay","key":"pay-late","at":"2026-09-24T12:00:00Z","contract":"C-1","on":"2026-09-03","amount":"21.60","method":"cash","reference":"REF-7"}""");
        return running;
    }

    private static async Task<long> EventsAsync(RunningApi running) =>
        (await running.Store.Reader.HistoryAsync("C-2", NodaTime.Instant.MaxValue))!.Entries.Length;
}
