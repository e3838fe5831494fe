using System.Text.Json;
using Xunit;
using static Contracts.Host.Tests.Questions.Asked;

namespace Contracts.Host.Tests.Questions;

/// <summary>
/// The ten questions of who reconstructs an account. Worked out by hand from the command file: C-1042 pays 41.04 a month, which is rent 31.50,
/// plan 6.50 and 8 per cent tax 3.04. By 7 December it had paid on 5 September, October and November; the fourth, of 5 December, was keyed in on
/// the 9th. So three months were known (94.50) where four are so (126.00), of a price of 1134.00.
/// </summary>
[Collection(QuestionsOfTheYear.Name)]
public sealed class ComplianceQuestions(DemoYear year)
{
    private const string User = "compliance";
    private const string Now = "?on=2026-12-07";
    private const string Then = "?on=2026-12-07&known=2026-12-07";

    [Fact]
    public Task Question_1_What_did_the_account_stand_at_on_a_day() => year.AskAsync(User, 1, async ask =>
    {
        var account = await ask.BothAsync(User, $"/v1/accounts/C-1042{Now}&known=2027-06-15", "account", "C-1042", "--on", "2026-12-07", "--known", "2027-06-15");
        Says(account, ("equity", "126.00"), ("remainingToOwn", "1008.00"), ("pastDue", "0.00"), ("paid.total", "164.16"));
        var page = await ask.PageAsync(User, $"/account/C-1042{Now}");
        Tile(page, "equity", "$126.00");
        Tile(page, "left to own", "$1008.00");
        Tile(page, "past due", "$0.00");
        Tile(page, "paid in all", "$164.16");
    });

    [Fact]
    public Task Question_2_What_did_we_believe_it_stood_at() => year.AskAsync(User, 2, async ask =>
    {
        var account = await ask.BothAsync(User, $"/v1/accounts/C-1042{Then}", "account", "C-1042", "--on", "2026-12-07", "--known", "2026-12-07");
        Says(account, ("equity", "94.50"), ("remainingToOwn", "1039.50"), ("pastDue", "41.04"), ("paid.total", "123.12"));
        var page = await ask.PageAsync(User, $"/account/C-1042{Then}");
        Tile(page, "equity", "$94.50");
        Tile(page, "past due", "$41.04");
        Row(Under(page, "changed"), "equity", "94.50", "126.00");
        Row(Under(page, "changed"), "paid in all", "123.12", "164.16");
    });

    [Fact]
    public Task Question_3_Why_is_the_figure_this_figure() => year.AskAsync(User, 3, async ask =>
    {
        string[] view = ["--on", "2026-12-07", "--known", "2026-12-07"];
        var rent = await ask.BothAsync(User, $"/v1/accounts/C-1042/totals{Then}&figure=paid.rent", ["totals", "C-1042", "--figure", "paid.rent", .. view]);
        Assert.Equal(["C-1042-002 31.50", "C-1042-003 31.50", "C-1042-006 31.50"], rent.GetProperty("events").EnumerateArray().Select(one => $"{At(one, "key")} {At(one, "amount")}"));
        var equity = await ask.BothAsync(User, $"/v1/accounts/C-1042/explain/equity{Then}", ["explain", "C-1042", "equity", .. view]);
        Says(equity, ("value", "94.50"));
        var page = await ask.PageAsync(User, $"/account/C-1042/why/paid.rent{Then}");
        Assert.Equal(["C-1042-002 31.50", "C-1042-003 31.50", "C-1042-006 31.50"], Rows(page).Where(row => row.Length == 5 && row[2].StartsWith("C-", StringComparison.Ordinal)).Select(row => $"{row[2]} {row[4]}"));
        Row(page, "rent paid", "94.50");
        // Of 1134.00 no more counts than the rent paid, three times 31.50.
        var why = await ask.PageAsync(User, $"/account/C-1042/why/equity{Then}");
        Assert.Contains("Why equity is $94.50", why, StringComparison.Ordinal);
        Assert.All(Leaves(equity), leaf => Assert.Contains(System.Net.WebUtility.HtmlEncode(leaf), why, StringComparison.Ordinal));
        Assert.Equal(3, Leaves(equity).Count(leaf => leaf == "31.50"));
    });

    [Fact]
    public Task Question_4_What_was_the_family_told_and_was_it_so() => year.AskAsync(User, 4, async ask =>
    {
        var papers = await ask.BothAsync(User, "/v1/accounts/C-1042/papers", "papers", "C-1042");
        var statement = papers.EnumerateArray().Single(paper => At(paper, "kind") == "statement");
        Says(statement, ("on", "2026-12-07"), ("issuedAt", "2026-12-07T20:14:30Z"), ("by", "office"));
        var printed = await ask.CommandAsync("reissue", "C-1042-statement-1", "--out", "-");
        Assert.Equal((await ask.ApiAsync(User, "/v1/accounts/C-1042/papers/C-1042-statement-1")).Text, printed);
        Assert.Contains("94.50", printed, StringComparison.Ordinal);
        Assert.DoesNotContain("126.00", printed, StringComparison.Ordinal);
        var page = await ask.PageAsync(User, $"/account/C-1042/dispute{Now}");
        Row(page, "equity", "94.50", "94.50", "126.00");
        Row(page, "past due", "41.04", "41.04", "0.00");
    });

    [Fact]
    public Task Question_5_What_was_paid_by_part_and_what_does_owning_cost() => year.AskAsync(User, 5, async ask =>
    {
        var account = await ask.BothAsync(User, $"/v1/accounts/C-1042{Then}", "account", "C-1042", "--on", "2026-12-07", "--known", "2026-12-07");
        Says(account, ("paid.rent", "94.50"), ("paid.plan", "19.50"), ("paid.tax", "9.12"), ("paid.fees", "0.00"), ("totalCost", "1134.00"), ("costOfRental", "0.00"));
        var page = await ask.PageAsync(User, $"/account/C-1042{Then}");
        Row(page, "rent paid", "94.50");
        Row(page, "protection plan paid", "19.50");
        Row(page, "tax paid", "9.12");
        Row(page, "fees paid", "0.00");
        Row(page, "total cost to own", "1134.00");
        Row(page, "cost of rental", "0.00");
    });

    [Fact]
    public Task Question_6_Who_changed_what_and_on_whose_authority() => year.AskAsync(User, 6, async ask =>
    {
        var history = await ask.BothAsync(User, "/v1/accounts/C-1042/history", "history", "C-1042");
        Assert.Equal(
            ["2027-03-08 office: returned by the bank, insufficient funds", "2027-04-03 office: keyed at both tills"],
            history.EnumerateArray().Where(one => At(one, "event") == "payment_reversed").Select(one => $"{At(one, "on")} {At(one, "by")}: {At(one, "reason")}"));
        var proposals = await ask.BothAsync(User, "/v1/proposals", "proposals");
        Assert.Contains("P-1", proposals.ToString(), StringComparison.Ordinal);
        var corrections = await ask.BothAsync(User, "/v1/accounts/C-1042/history?kind=correction", "history", "C-1042", "--kind", "correction");
        Assert.Equal(["2027-03-08", "2027-04-03"], corrections.EnumerateArray().Select(one => At(one, "on")));
        var page = await ask.PageAsync(User, "/account/C-1042?kind=correction");
        Assert.Equal(["2027-04-03", "2027-03-08"], Rows(Under(page, "events")).Where(row => row.Length == 6 && row[0].StartsWith('2')).Select(row => row[0]));
        Assert.Contains(Rows(page), row => row.Length == 6 && row[0] == "2027-03-08" && row[1].Contains("insufficient funds", StringComparison.Ordinal) && row[3] == "office");
        Assert.Contains("P-1", await ask.PageAsync(User, "/proposals"), StringComparison.Ordinal);
    });

    [Fact]
    public Task Question_7_Was_the_early_purchase_price_right_by_the_rules_of_that_day() => year.AskAsync(User, 7, async ask =>
    {
        // The fourth month: 20 per cent off what is left once the open rent of 31.50 is paid, 1008.00 x 0.80 = 806.40; 8 per cent of it 64.51; and 41.04 past due.
        const string command = """{"do":"buy","contract":"C-1042","on":"2026-12-07","amount":"911.95","method":"card"}""";
        var price = await ask.BothAsync(
            User, $"/v1/accounts/C-1042/explain/earlyPurchase.payoff{Then}", "explain", "C-1042", "earlyPurchase.payoff", "--on", "2026-12-07", "--known", "2026-12-07");
        Says(price, ("value", "911.95"));
        var preview = await ask.BothAsync(User, "/v1/commands/preview?known=2026-12-07T21:00:00Z", command, ["preview", "-", "--known", "2026-12-07T21:00:00Z"]);
        Assert.Equal("bought early for 806.40 and tax 64.51, price by terms", At(preview.GetProperty("events")[0], "says"));
        Tile(await ask.PageAsync(User, $"/account/C-1042{Then}"), "to buy today, tax in it", "$911.95");
    });

    [Fact]
    public Task Question_8_Which_other_accounts_met_the_same_mistake() => year.AskAsync(User, 8, async ask =>
    {
        // The command file has two payments that were taken back as entered wrongly, and three that the bank returned.
        foreach (var (met, contracts) in new[] { ("entry-error", "C-1006 C-1042"), ("bank-return", "C-1036 C-1041 C-1042") })
        {
            var found = await ask.BothAsync(User, $"/v1/accounts?on=2027-06-15&known=2027-06-15&met={met}", "accounts", "--on", "2027-06-15", "--known", "2027-06-15", "--where", $"met={met}");
            Assert.Equal(contracts.Split(' '), found.EnumerateArray().Select(one => At(one, "contract")));
            var page = await ask.PageAsync(User, $"/accounts?on=2027-06-15&known=2027-06-15&met={met}");
            Assert.Equal(contracts.Split(' '), Rows(Under(page, "accounts")).Where(row => row.Length == 7 && row[0].StartsWith("C-", StringComparison.Ordinal)).Select(row => row[0]));
        }

        // On 7 December, as known then, what came later has moved the account whose check was keyed late.
        var moved = await ask.BothAsync(
            User, "/v1/accounts?on=2026-12-07&known=2026-12-07&later=moved", "accounts", "--on", "2026-12-07", "--known", "2026-12-07", "--where", "later=moved");
        Assert.Contains("C-1042", moved.EnumerateArray().Select(one => At(one, "contract")));
        var same = await ask.BothAsync(
            User, "/v1/accounts?on=2026-12-07&known=2026-12-07&later=same", "accounts", "--on", "2026-12-07", "--known", "2026-12-07", "--where", "later=same");
        var all = await ask.Running.GetAsync(User, "/v1/accounts?on=2026-12-07&known=2026-12-07&limit=200");
        Assert.Equal(Read(all.Text).GetArrayLength(), moved.GetArrayLength() + same.GetArrayLength());
    });

    [Fact]
    public Task Question_9_Has_the_record_been_altered_since() => year.AskAsync(User, 9, async ask =>
    {
        var check = await ask.BothAsync(User, "/v1/check", "check");
        Says(check, ("ok", "True"));
        Assert.Equal(0, check.GetProperty("faults").GetArrayLength());
        var head = Read((await ask.ApiAsync(User, "/v1/checkpoint")).Text);
        Assert.Equal(At(head, "size"), At(check, "checked.leaves"));
        var page = await ask.PageAsync(User, "/seals");
        Tile(page, "signed leaves", head.GetProperty("size").GetInt64().ToString("N0", System.Globalization.CultureInfo.InvariantCulture));
        Assert.Contains(At(head, "note"), System.Net.WebUtility.HtmlDecode(page), StringComparison.Ordinal);
    });

    [Fact]
    public Task Question_10_Hand_me_everything_so_that_an_outsider_can_check_it() => year.AskAsync(User, 10, async ask =>
    {
        var folder = Directory.CreateTempSubdirectory("questions-").FullName;
        try
        {
            var printed = Path.Combine(folder, "printed.zip");
            await ask.CommandAsync("dossier", "C-1042", "--on", "2026-12-07", "--known", "2026-12-07", "--out", printed);
            var answered = await ask.ApiAsync(User, $"/v1/accounts/C-1042/dossier{Then}", HttpMethod.Post, "");
            var taken = await ask.Running.PostAsync(User, $"/account/C-1042/dispute/dossier{Then}", "");
            Assert.Contains("Take the dossier", await ask.PageAsync(User, $"/account/C-1042/dispute{Then}"), StringComparison.Ordinal);
            foreach (var (name, bytes) in new[] { ("answered", answered.Bytes), ("taken", taken.Bytes) }) { await File.WriteAllBytesAsync(Path.Combine(folder, $"{name}.zip"), bytes); }
            foreach (var name in new[] { "printed", "answered", "taken" })
            {
                var verified = Read(await ask.CommandAsync("verify", Path.Combine(folder, $"{name}.zip"), "--format", "json"));
                Says(verified, ("ok", "True"));
                Assert.Equal(JsonValueKind.Array, verified.GetProperty("proved").ValueKind);
            }
        }
        finally
        {
            Directory.Delete(folder, recursive: true);
        }
    });

    /// <summary>The numbers that a figure rests on.</summary>
    private static IEnumerable<string> Leaves(JsonElement node) =>
        node.GetProperty("parts") is { } parts && parts.GetArrayLength() == 0 ? [At(node, "value")] : parts.EnumerateArray().SelectMany(Leaves);
}
