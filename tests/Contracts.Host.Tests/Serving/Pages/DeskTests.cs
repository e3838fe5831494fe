using System.Net;
using System.Text.Json.Nodes;
using Contracts.Agreements;
using Contracts.Host.Tests.Serving.Api;
using Contracts.Host.Tests.Support;
using NodaTime;
using Xunit;

namespace Contracts.Host.Tests.Serving.Pages;

/// <summary>The desks: quote, signing, exchange, dispute, proposals, month end; each figure held against the command line's.</summary>
public sealed class DeskTests(Server server)
{
    private static readonly (string Name, string Value)[] Terms =
    [
        ("terms.cashPrice", "300.00"), ("terms.purchasePrice", "300.00"), ("terms.introductory.months", "1"), ("terms.introductory.payment", "20.00"), ("terms.monthlyRent", "30.00"),
        ("terms.creditShare", "1.00"), ("terms.earlyPurchase.0.throughMonth", "6"), ("terms.earlyPurchase.0.discount", "0.30"), ("terms.earlyPurchase.1.discount", "0.25"),
        ("terms.lateFee.amount", "5.00"), ("terms.lateFee.graceDays", "7"),
    ];

    [Fact]
    public async Task A_quote_on_the_page_is_the_quote_of_the_command_line()
    {
        await using var running = await ShopAsync();
        var page = (await running.GetAsync("counter", "/quote?" + PageForms.Query([("state", "OR"), ("jurisdiction", "J"), ("startOn", "2026-10-01"), ("planElected", "no"), .. Terms]))).Text;
        var offer = """{"state":"OR","jurisdiction":"J","startOn":"2026-10-01","terms":{"cashPrice":"300.00","purchasePrice":"300.00","introductory":{"months":1,"payment":"20.00"},"monthlyRent":"30.00","creditShare":"1.00","earlyPurchase":[{"throughMonth":6,"discount":"0.30"},{"discount":"0.25"}],"lateFee":{"amount":"5.00","graceDays":7}}}""";
        var quote = JsonNode.Parse((await running.PostAsync("counter", "/v1/quotes", offer)).Text)!;
        Assert.Contains($"<dt>total cost to own, rent alone</dt><dd>${quote["totalCost"]}</dd>", page, StringComparison.Ordinal);
        Assert.Contains($"<dt>to term, all told</dt><dd>${quote["totalToTerm"]}</dd>", page, StringComparison.Ordinal);
        foreach (var month in quote["months"]!.AsArray())
        {
            Assert.Contains($"<td class=\"d\">{month!["on"]}</td><td class=\"n\">{month["paidSoFar"]}</td><td class=\"n\">{month["equity"]}</td><td class=\"n\">{month["priceToOwn"]}</td>", page, StringComparison.Ordinal);
        }

        // The first visit begins with the terms of the last contract, and never with its family.
        var first = (await running.GetAsync("counter", "/sign")).Text;
        Assert.Contains("name=\"terms.monthlyRent\" value=\"30.00\"", first, StringComparison.Ordinal);
        Assert.DoesNotContain("value=\"H\"", first, StringComparison.Ordinal);
        Assert.Equal(HttpStatusCode.BadRequest, (await running.GetAsync("counter", "/quote?terms.monthlyRent=x")).Status);
    }

    [Fact]
    public async Task A_signing_shows_what_it_costs_and_what_is_due_and_records_it_with_the_second_button()
    {
        await using var running = await ShopAsync();
        var fields = PageForms.Query(
        [
            ("contract", "C-7"), ("on", "2026-09-24"), ("household", "H-7"), ("instrument.kind", "flute"), ("instrument.serial", "S-7"), ("instrument.condition", "used"),
            ("state", "OR"), ("jurisdiction", "J"), ("startOn", "2026-09-24"), ("planElected", "no"), .. Terms, ("accessories.0.description", "a stand"), ("accessories.0.price", "10.00"),
        ]);
        var page = await running.GetAsync("counter", "/sign?" + fields);
        Assert.True(page.Status == HttpStatusCode.OK, page.Text);
        // 20.00 and 10.00, taxed at 8 percent like the shop's other contracts.
        Assert.Contains("Due then: <strong>$32.40</strong>", page.Text, StringComparison.Ordinal);
        Assert.Null(await running.Store.Reader.HistoryAsync("C-7", Instant.MaxValue));
        var done = await PageForms.PostAsync(running, "counter", "/sign", PageForms.Hidden(page.Text));
        Assert.Equal("/account/C-7?done=sign#events", done.Headers["Location"]);
        var signed = (await running.Store.Reader.HistoryAsync("C-7", Instant.MaxValue))!;
        Assert.Equal((2, 30000L, "A counter"), (signed.Signing.Terms.EarlyPurchase.Length, signed.Signing.Terms.CashPrice.Cents, signed.Entries[0].Actor));
        // Twice is once, and a unit that is out stays where it is.
        Assert.Equal(HttpStatusCode.Found, (await PageForms.PostAsync(running, "counter", "/sign", PageForms.Hidden(page.Text))).Status);
        Assert.Single((await running.Store.Reader.HistoryAsync("C-7", Instant.MaxValue))!.Entries);
        var taken = await PageForms.PostAsync(
            running, "counter", "/sign", PageForms.Hidden(page.Text).Select(pair => pair.Key switch { "key" => new("key", "other"), "contract" => new("contract", "C-8"), _ => pair }));
        Assert.Equal(HttpStatusCode.Conflict, taken.Status);
        Assert.Contains("instrument-on-open-contract", taken.Text, StringComparison.Ordinal);
    }

    [Fact]
    public async Task An_exchange_keeps_the_equity_and_says_so_first()
    {
        await using var running = await ShopAsync();
        var page = await running.GetAsync("counter", "/account/C-1/do/exchange?" + PageForms.Query(
            [("on", "2026-09-24"), ("instrument.kind", "cello"), ("instrument.serial", "S-77"), ("instrument.condition", "new"), .. Terms.Select(term => term.Name == "terms.purchasePrice" ? (term.Name, "400.00") : term)]));
        Assert.True(page.Status == HttpStatusCode.OK, page.Text);
        Assert.Contains("left to own</th>", page.Text, StringComparison.Ordinal);
        Assert.Equal(HttpStatusCode.Found, (await PageForms.PostAsync(running, "counter", "/account/C-1/do/exchange", PageForms.Hidden(page.Text))).Status);
        var account = JsonNode.Parse((await running.GetAsync("counter", "/v1/accounts/C-1")).Text)!;
        Assert.Equal(("cello", "20.00"), ((string?)account["instrument"]!["kind"], (string?)account["equity"]));
        // The form began with the terms as they are.
        Assert.Contains("name=\"terms.monthlyRent\" value=\"30.00\"", (await running.GetAsync("counter", "/account/C-1/do/exchange")).Text, StringComparison.Ordinal);
    }

    [Fact]
    public async Task What_an_exchange_leaves_over_is_offered_and_spent_on_a_sale()
    {
        await using var running = await ShopAsync();
        const string form = "/account/C-1/do/spend-credit";
        Assert.DoesNotContain(form, (await running.GetAsync("counter", "/account/C-1")).Text, StringComparison.Ordinal);
        // 20.00 of credit and an instrument at 12.00.
        (string, string)[] cheaper = [.. Terms.Select(term => term.Name is "terms.purchasePrice" or "terms.cashPrice" or "terms.monthlyRent" ? (term.Name, "12.00") : term)];
        var exchange = await running.GetAsync("counter", "/account/C-1/do/exchange?" + PageForms.Query(
            [("on", "2026-09-24"), ("instrument.kind", "recorder"), ("instrument.serial", "S-78"), ("instrument.condition", "new"), .. cheaper]));
        Assert.Equal(HttpStatusCode.Found, (await PageForms.PostAsync(running, "counter", "/account/C-1/do/exchange", PageForms.Hidden(exchange.Text))).Status);
        Assert.Contains(form, (await running.GetAsync("counter", "/account/C-1")).Text, StringComparison.Ordinal);
        var tooMuch = await running.GetAsync("counter", form + "?" + PageForms.Query([("on", "2026-09-24"), ("amount", "8.01"), ("sale.description", "a stand"), ("sale.price", "30.00")]));
        Assert.Contains("merchandise-exceeds-credit", tooMuch.Text, StringComparison.Ordinal);
        var page = await running.GetAsync("counter", form + "?" + PageForms.Query([("on", "2026-09-24"), ("amount", "6.00"), ("sale.description", "a stand"), ("sale.price", "30.00")]));
        Assert.True(page.Status == HttpStatusCode.OK, page.Text);
        Assert.Equal(HttpStatusCode.Found, (await PageForms.PostAsync(running, "counter", form, PageForms.Hidden(page.Text))).Status);
        Assert.Equal("2.00", (string?)JsonNode.Parse((await running.GetAsync("counter", "/v1/accounts/C-1?on=2026-09-24")).Text)!["merchandiseCredit"]);
        Assert.Contains("merchandise credit spent on a stand, sold for 30.00", (await running.GetAsync("counter", "/account/C-1")).Text, StringComparison.Ordinal);
    }

    [Fact]
    public async Task The_dispute_desk_puts_what_was_said_known_and_is_so_side_by_side()
    {
        await using var running = await ShopAsync();
        await running.AppliedAsync("""{"do":"issue","key":"said-1","at":"2026-09-24T12:00:00Z","contract":"C-1","on":"2026-09-19","kind":"statement"}""");
        var page = (await running.GetAsync("support", "/account/C-1/dispute?on=2026-09-20&known=2026-09-10")).Text;
        Assert.Contains("No paper had been given out by then.", page, StringComparison.Ordinal);
        Assert.Contains("<th scope=\"row\">paid in all</th><td class=\"n\">&#x2014;</td><td class=\"n\">0.00</td><td class=\"n\"><strong>21.60</strong></td>", page, StringComparison.Ordinal);
        page = (await running.GetAsync("support", "/account/C-1/dispute?on=2026-09-20&known=2026-09-10&paper=said-1")).Text;
        Assert.Contains("We said it in the <a href=\"/v1/accounts/C-1/papers/said-1\">statement</a> of 19 Sep 2026", page, StringComparison.Ordinal);
        Assert.Contains("Undo a payment", page, StringComparison.Ordinal);
        // What came in after the paper, dated back before it, changes what is so and not what was said.
        await running.AppliedAsync(Lines.Pay("C-1", "p-2", "21.60", "2026-09-25T12:00:00Z", "2026-09-18"));
        page = (await running.GetAsync("support", "/account/C-1/dispute?on=2026-09-20&known=2026-09-10&paper=said-1")).Text;
        Assert.Contains("<th scope=\"row\">money waiting</th><td class=\"n\">0.00</td><td class=\"n\">0.00</td><td class=\"n\"><strong>16.60</strong></td>", page, StringComparison.Ordinal);
        // Support proposes and takes no dossier; compliance takes it and it is the API's.
        Assert.DoesNotContain("Take the dossier", page, StringComparison.Ordinal);
        Assert.Equal(HttpStatusCode.Forbidden, (await running.PostAsync("support", "/account/C-1/dispute/dossier", "")).Status);
        var dossier = await running.PostAsync("compliance", "/account/C-1/dispute/dossier?on=2026-09-20", "");
        Assert.Equal((HttpStatusCode.OK, "application/zip"), (dossier.Status, dossier.Type));
        Assert.Contains(await running.Store.Readings.OfAsync("C-1"), read => read.By == "A compliance" && read.Route.Contains("dispute", StringComparison.Ordinal));
    }

    [Fact]
    public async Task What_takes_two_persons_is_proposed_on_one_page_and_approved_on_another()
    {
        await using var running = await ShopAsync();
        var form = (await running.GetAsync("manager", "/account/C-1/do/credit?on=2026-09-24&amount=80.00&reason=a+promise")).Text;
        Assert.Contains("take a second person", form, StringComparison.Ordinal);
        var proposed = await PageForms.PostAsync(running, "manager", "/account/C-1/do/credit", PageForms.Hidden(form));
        Assert.Equal(HttpStatusCode.Found, proposed.Status);
        var place = proposed.Headers["Location"];
        Assert.Equal(place, (await PageForms.PostAsync(running, "manager", "/account/C-1/do/credit", PageForms.Hidden(form))).Headers["Location"]);
        Assert.Contains("Give goodwill, 2026-09-24, $80.00", (await running.GetAsync("auditor", "/proposals")).Text, StringComparison.Ordinal);

        // Its maker sees no button to approve it, and none that is made up helps.
        var own = (await running.GetAsync("manager", place)).Text;
        Assert.DoesNotContain("value=\"approve\"", own, StringComparison.Ordinal);
        var refused = await PageForms.PostAsync(running, "manager", place, [new("decision", "approve"), new("key", "k")]);
        Assert.Equal(HttpStatusCode.Forbidden, refused.Status);
        Assert.Contains("somebody else must approve it", refused.Text, StringComparison.Ordinal);
        Assert.Equal(HttpStatusCode.Forbidden, (await PageForms.PostAsync(running, "support", place, [new("decision", "approve"), new("key", "k2")])).Status);

        await running.Store.Keys.MakeAsync("Another manager", "manager", 1, "An owner");
        var second = (await running.Store.Keys.MakeAsync("A second manager", "manager", 1, "An owner")).Text;
        var page = (await running.GetAsync(second, place)).Text;
        // Five of the eighty pay the late fee of the payment that came late.
        Assert.Contains("<th scope=\"row\">goodwill waiting</th><td class=\"n\">0.00</td><td class=\"n\"><strong>75.00</strong></td>", page, StringComparison.Ordinal);
        var hidden = PageForms.Hidden(page);
        Assert.Equal(HttpStatusCode.Found, (await PageForms.PostAsync(running, second, place, [.. hidden.Take(3), new("decision", "approve")])).Status);
        Assert.Contains("Approved by A second manager", (await running.GetAsync("manager", place)).Text, StringComparison.Ordinal);
        Assert.Contains("A manager, approved by A second manager", (await running.GetAsync("manager", "/account/C-1")).Text, StringComparison.Ordinal);
    }

    [Fact]
    public async Task A_month_is_looked_at_proposed_approved_and_closed_on_pages()
    {
        await using var running = await ShopAsync();
        Assert.Contains("It can be closed from 2026-10-01 on".ToLowerInvariant(), (await running.GetAsync("finance", "/months/2026-09")).Text.ToLowerInvariant(), StringComparison.Ordinal);
        await running.AppliedAsync("""{"do":"bill","key":"bill","at":"2026-10-02T12:00:00Z","through":"2026-09-30"}""");
        var page = (await running.GetAsync("finance", "/months/2026-09")).Text;
        Assert.Contains("Every check holds as the books stand now.", page, StringComparison.Ordinal);
        Assert.Contains("Propose to close 2026-09", page, StringComparison.Ordinal);
        Assert.DoesNotContain("Propose to close", (await running.GetAsync("auditor", "/months/2026-09")).Text, StringComparison.Ordinal);
        Assert.Equal(HttpStatusCode.Forbidden, (await PageForms.PostAsync(running, "manager", "/months/2026-09", PageForms.Hidden(page))).Status);
        var place = (await PageForms.PostAsync(running, "finance", "/months/2026-09", PageForms.Hidden(page))).Headers["Location"];
        Assert.Empty(await running.Store.MonthClose.ClosedAsync());
        Assert.DoesNotContain("Propose to close", (await running.GetAsync("finance", "/months/2026-09")).Text, StringComparison.Ordinal);
        var approved = await PageForms.PostAsync(running, "manager", place, [.. PageForms.Hidden((await running.GetAsync("manager", place)).Text).Take(3), new("decision", "approve")]);
        Assert.True(approved.Status == HttpStatusCode.Found, approved.Text);
        Assert.Single(await running.Store.MonthClose.ClosedAsync());
        Assert.Contains("the same bytes as at the close", (await running.GetAsync("finance", "/months/2026-09")).Text, StringComparison.Ordinal);
    }

    private async Task<RunningApi> ShopAsync()
    {
        var running = await RunningApi.StartAsync(server);
        await running.AppliedAsync(Lines.Tax);
        await running.AppliedAsync(Lines.Sign("C-1", "S-1"));
        await running.AppliedAsync(Lines.Pay("C-1", "p-1", "21.60", "2026-09-24T12:00:00Z", "2026-09-19"));
        return running;
    }
}
