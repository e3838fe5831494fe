using System.Text.Json;
using Contracts.Host.Tests.Serving.Pages;
using Xunit;
using static Contracts.Host.Tests.Questions.Asked;

namespace Contracts.Host.Tests.Questions;

/// <summary>
/// The ten questions of who settles a dispute. C-1016 stands for a family that still rents: the same trumpet at the same terms as C-1042 once had, ten
/// rents of 31.50 paid by 15 June 2027, so 315.00 of 1134.00, in a county that taxes rent and no sale.
/// </summary>
[Collection(QuestionsOfTheYear.Name)]
public sealed class SupportQuestions(DemoYear year)
{
    private const string User = "support";
    private const string Preview = "/v1/commands/preview";

    [Fact]
    public Task Question_1_What_do_I_owe_today_and_next() => year.AskAsync(User, 1, async ask =>
    {
        const string view = "?on=2026-12-07&known=2026-12-07";
        var account = await ask.BothAsync(User, $"/v1/accounts/C-1042{view}", "account", "C-1042", "--on", "2026-12-07", "--known", "2026-12-07");
        Says(account, ("pastDue", "41.04"), ("nextDue.on", "2027-01-05"), ("nextDue.amount", "41.04"));
        var page = await ask.PageAsync(User, $"/account/C-1042{view}");
        Tile(page, "past due", "$41.04");
        Tile(page, "next due", "$41.04 on 5 Jan 2027");
    });

    [Fact]
    public Task Question_2_I_paid_so_where_is_it() => year.AskAsync(User, 2, async ask =>
    {
        Assert.Equal("/account/C-1042", await ask.LeadsToAsync(User, "/?q=check%20318"));
        var found = await ask.BothAsync(User, "/v1/find?q=check%20318", "find", "check 318");
        Says(Assert.Single(found.EnumerateArray()), ("contract", "C-1042"), ("by", "receipt"), ("what", "check 318"));
        Row(await ask.PageAsync(User, "/account/C-1042"), "2026-12-05", "payment received by check", "41.04", "quay-road", "9 Dec 2026 09:35:10", "C-1042-007");
        var history = await ask.BothAsync(User, "/v1/accounts/C-1042/history", "history", "C-1042");
        var payment = history.EnumerateArray().Single(one => At(one, "event") == "payment_received" && At(one, "on") == "2026-12-05");
        Says(payment, ("money", "41.04"), ("recordedAt", "2026-12-09T14:35:10Z"), ("by", "quay-road"), ("key", "C-1042-007"));
    });

    [Fact]
    public Task Question_3_How_much_of_it_is_mine_and_how_long_to_go() => year.AskAsync(User, 3, async ask =>
    {
        // Four of 36 rents are paid: 126.00, and 32 x 31.50 = 1008.00 to come.
        var account = await ask.BothAsync(User, "/v1/accounts/C-1042?on=2026-12-31&known=2027-01-01", "account", "C-1042", "--on", "2026-12-31", "--known", "2027-01-01");
        Says(account, ("equity", "126.00"), ("remainingToOwn", "1008.00"), ("remainingBySchedule", "1008.00"), ("installments.remaining", "32"));
        var page = await ask.PageAsync(User, "/account/C-1042?on=2026-12-31&known=2027-01-01");
        Tile(page, "equity", "$126.00");
        Tile(page, "left to own", "$1008.00");
        Row(page, "rent left by schedule", "1008.00");
        Assert.Matches("<dt>installments to come</dt><dd>32 <span[^>]*>of 36</span></dd>", page);
    });

    [Fact]
    public Task Question_4_What_would_it_cost_to_buy_it_now() => year.AskAsync(User, 4, async ask =>
    {
        // Nothing is open: 1134.00 - 315.00 = 819.00, 20 per cent off, and no tax on a sale.
        const string command = """{"do":"buy","contract":"C-1016","on":"2027-06-15","amount":"655.20","method":"cash"}""";
        var preview = await ask.BothAsync(User, Preview, command, ["preview", "-"]);
        Assert.Equal(("0.00", "655.20"), Change(preview, "paid.purchase"));
        Assert.Equal(("active", "owned"), Change(preview, "status"));
        Tile(await ask.PageAsync(User, "/account/C-1016"), "to buy today, tax in it", "$655.20");
        Row(await ask.PageAsync(User, "/account/C-1016/do/buy?on=2027-06-15&amount=655.20&method=cash"), "purchase paid", "0.00", "655.20");
    });

    [Fact]
    public Task Question_5_It_broke_so_what_now() => year.AskAsync(User, 5, async ask =>
    {
        const string command = """{"do":"swap","contract":"C-1016","on":"2027-06-15","serial":"LT-0599","returnBy":"2027-06-15"}""";
        var preview = await ask.BothAsync(User, Preview, command, ["preview", "-"]);
        // Rent and equity go on: the serial number is all that changes.
        Assert.Equal(["instrument.serial"], preview.GetProperty("figures").EnumerateArray().Select(one => At(one, "figure")));
        Assert.Equal(("LT-0404", "LT-0599"), Change(preview, "instrument.serial"));
        var page = await ask.PageAsync(User, "/account/C-1016/do/swap?on=2027-06-15&serial=LT-0599&returnBy=2027-06-15");
        Row(page, "instrument.serial", "LT-0404", "LT-0599");
        Assert.Contains(At(preview.GetProperty("events")[0], "says"), page, StringComparison.Ordinal);
    });

    [Fact]
    public Task Question_6_Can_she_change_to_saxophone_and_keep_what_we_paid() => year.AskAsync(User, 6, async ask =>
    {
        // Five rents of 31.50 come along: 157.50 of 1512.00, and 1354.50 is left; a month is then 42.00 + 8.00 and 8 per cent, 54.00.
        var then = await ask.BothAsync(User, $"{Preview}?known=2027-01-14T12:00:00Z", Exchange("C-1042", "2027-01-14", "HA-0213"), ["preview", "-", "--known", "2027-01-14T12:00:00Z"]);
        Assert.Equal(("0.00", "157.50"), Change(then, "carriedEquity"));
        Assert.Equal(("976.50", "1354.50"), Change(then, "remainingToOwn"));
        Assert.Equal(("41.04", "54.00"), Change(then, "nextDue.amount"));
        var now = await ask.BothAsync(User, Preview, Exchange("C-1016", "2027-06-15", "HA-0999"), ["preview", "-"]);
        Assert.Equal(("819.00", "1197.00"), Change(now, "remainingToOwn"));
        var page = await ask.PageAsync(User, "/account/C-1016/do/exchange?" + PageForms.Query(
            ("on", "2027-06-15"), ("instrument.kind", "alto saxophone"), ("instrument.serial", "HA-0999"), ("instrument.condition", "new"), ("instrument.cost", "815.00"),
            ("terms.cashPrice", "1512.00"), ("terms.purchasePrice", "1512.00"), ("terms.monthlyRent", "42.00"), ("terms.creditShare", "1.00"),
            ("terms.earlyPurchase.0.throughMonth", "3"), ("terms.earlyPurchase.0.discount", "0.30"), ("terms.earlyPurchase.1.throughMonth", "12"),
            ("terms.earlyPurchase.1.discount", "0.20"), ("terms.earlyPurchase.2.discount", "0.15"), ("terms.plan.monthly", "8.00"), ("terms.lateFee.amount", "5.00"),
            ("terms.lateFee.graceDays", "7")));
        Row(page, "left to own", "819.00", "1197.00");
        Row(page, "of it carried over from an exchange", "0.00", "315.00");
    });

    [Fact]
    public Task Question_7_What_do_we_lose_when_we_return_it() => year.AskAsync(User, 7, async ask =>
    {
        var preview = await ask.BothAsync(User, Preview, """{"do":"return","contract":"C-1016","on":"2027-06-15"}""", ["preview", "-"]);
        Assert.Equal(("active", "returned"), Change(preview, "status"));
        Assert.Equal(("655.20", "0.00"), Change(preview, "earlyPurchase.payoff"));
        Assert.DoesNotContain(preview.GetProperty("figures").EnumerateArray(), one => At(one, "figure") is "equity" or "pastDue");
        var page = await ask.PageAsync(User, "/account/C-1016/do/return?on=2027-06-15");
        Row(page, "standing", "active", "returned");
        Row(page, "to buy today, all told", "655.20", "0.00");
    });

    [Fact]
    public Task Question_8_Why_did_the_bill_change() => year.AskAsync(User, 8, async ask =>
    {
        // 41.04 on 5 January, 54.00 on 5 February: the exchange of 14 January.
        var compare = await ask.BothAsync(
            User, "/v1/accounts/C-1042/compare?on=2027-01-13&known=2027-06-15&withOn=2027-01-14&withKnown=2027-06-15",
            "compare", "C-1042", "--on", "2027-01-13", "--known", "2027-06-15", "--with-on", "2027-01-14", "--with-known", "2027-06-15");
        var left = compare.GetProperty("figures").EnumerateArray().Single(one => At(one, "figure") == "nextDue.amount");
        Says(left, ("from", "41.04"), ("to", "54.00"), ("difference", "12.96"));
        Assert.Equal("C-1042-009", At(Assert.Single(left.GetProperty("because").EnumerateArray()), "event.key"));
        var page = await ask.PageAsync(User, "/account/C-1042/compare?on=2027-01-13&known=2027-06-15&withOn=2027-01-14&withKnown=2027-06-15");
        Assert.Contains("next amount due: $41.04 to $54.00", page, StringComparison.Ordinal);
        Row(page, "a day that came", "2027-01-14", "exchanged for alto saxophone HA-0213", "C-1042-009", "+12.96");
    });

    [Fact]
    public Task Question_9_A_fee_is_wrong_so_undo_it() => year.AskAsync(User, 9, async ask =>
    {
        const string command = """{"do":"waive","contract":"C-1005","on":"2027-06-15","fee":"late:2026-12-08","reason":"the mail was late"}""";
        var preview = await ask.BothAsync(User, Preview, command, ["preview", "-"]);
        Assert.Equal(("158.14", "153.14"), Change(preview, "pastDue"));
        var page = await ask.PageAsync(User, "/account/C-1005/do/waive?on=2027-06-15&fee=late:2026-12-08&reason=the+mail+was+late");
        Row(page, "past due", "158.14", "153.14");
        // Within its limit support does it; above it somebody else approves.
        Assert.Contains(">Waive fee</button>", page, StringComparison.Ordinal);
    });

    [Fact]
    public Task Question_10_Send_me_proof() => year.AskAsync(User, 10, async ask =>
    {
        var statement = await ask.ApiAsync(User, "/v1/accounts/C-1042/papers/C-1042-statement-1");
        Assert.Equal(await ask.CommandAsync("reissue", "C-1042-statement-1", "--out", "-"), statement.Text);
        var due = await ask.ApiAsync(User, "/v1/accounts/C-1042/due.ics?on=2026-12-07&known=2026-12-07");
        Assert.Equal(await ask.CommandAsync("due", "C-1042", "--on", "2026-12-07", "--known", "2026-12-07", "--out", "-"), due.Text);
        // What is past due is no date to come; 32 rents are.
        Assert.Equal(32, due.Text.Split("BEGIN:VEVENT").Length - 1);
        Assert.Contains("href=\"/v1/accounts/C-1042/papers/C-1042-statement-1\"", await ask.PageAsync(User, "/account/C-1042"), StringComparison.Ordinal);
        // A payment that the bank returned, and one that was taken at two tills: each is there, and what took it back.
        var span = await ask.BothAsync(
            User, "/v1/accounts/C-1042/statement?from=2027-03-01&through=2027-04-30&known=2027-06-15",
            "statement", "C-1042", "--from", "2027-03-01", "--through", "2027-04-30", "--known", "2027-06-15");
        Assert.Equal(
            ["charge 54.00", "payment -54.00", "reversal 54.00", "payment -54.00", "payment -54.00", "payment -54.00", "reversal 54.00", "charge 54.00"],
            span.GetProperty("movements").EnumerateArray().Select(one => $"{At(one, "kind")} {At(one, "amount")}"));
        Assert.Equal((At(span, "opening.balance"), "0.00"), ("0.00", At(span, "closing.balance")));
        var shown = await ask.PageAsync(User, "/account/C-1042/statement?from=2027-03-01&through=2027-04-30&known=2027-06-15");
        foreach (var movement in span.GetProperty("movements").EnumerateArray())
        {
            Row(shown, At(movement, "on"), At(movement, "says"), At(movement, "id"), At(movement, "amount") is ['-', ..] less ? less : $"+{At(movement, "amount")}", At(movement, "balance"));
        }
    });

    private static (string Before, string After) Change(JsonElement preview, string figure)
    {
        var one = preview.GetProperty("figures").EnumerateArray().Single(one => At(one, "figure") == figure);
        return (At(one, "before"), At(one, "after"));
    }

    private static string Exchange(string contract, string on, string serial) =>
        $$$"""{"do":"exchange","contract":"{{{contract}}}","on":"{{{on}}}","instrument":{"kind":"alto saxophone","serial":"{{{serial}}}","condition":"new","cost":"815.00"},"terms":{"cashPrice":"1512.00","purchasePrice":"1512.00","monthlyRent":"42.00","creditShare":"1.00","earlyPurchase":[{"throughMonth":3,"discount":"0.30"},{"throughMonth":12,"discount":"0.20"},{"discount":"0.15"}],"plan":{"monthly":"8.00","chargedInIntroductory":false},"lateFee":{"amount":"5.00","graceDays":7}},"accessories":[]}""";
}
