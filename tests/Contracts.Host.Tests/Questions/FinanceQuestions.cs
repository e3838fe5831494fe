using System.Globalization;
using System.Security.Cryptography;
using System.Text;
using System.Text.Json;
using Contracts.Host.Story;
using Xunit;
using static Contracts.Host.Tests.Questions.Asked;

namespace Contracts.Host.Tests.Questions;

/// <summary>
/// The ten questions of who closes the month. December 2026 and January 2027 are closed; sums are made here from the command file or from the
/// accounts, and the packet has to come to the same.
/// </summary>
[Collection(QuestionsOfTheYear.Name)]
public sealed class FinanceQuestions(DemoYear year)
{
    private const string User = "finance";
    private const string AtClose = "2027-06-15T23:04:00Z";

    [Fact]
    public Task Question_1_Is_the_month_ready_to_close() => year.AskAsync(User, 1, async ask =>
    {
        var ready = await ask.BothAsync(User, "/v1/months/2027-02/ready", "ready", "2027-02");
        Says(ready, ("ready", "True"), ("month", "2027-02"));
        var page = await ask.PageAsync(User, "/months/2027-02");
        Assert.All(ready.GetProperty("checks").EnumerateArray(), check => Row(page, At(check, "name"), "✓ holds", At(check, "detail")));
        Assert.Contains("Is it ready?", page, StringComparison.Ordinal);
        Assert.Contains(Rows(page), row => row is ["Debits equal credits, dollars and memo apart", "✓ holds", "0.00"]);
        Assert.Contains("Propose to close 2027-02", page, StringComparison.Ordinal);
    });

    [Fact]
    public Task Question_2_What_was_received() => year.AskAsync(User, 2, async ask =>
    {
        var received = Commands().Where(one => At(one, "do") is "pay" or "buy" && At(one, "on").StartsWith("2026-12", StringComparison.Ordinal))
            .Sum(one => decimal.Parse(At(one, "amount"), CultureInfo.InvariantCulture)).ToString("0.00", CultureInfo.InvariantCulture);
        var packet = await PacketAsync(ask, "2026-12");
        Assert.Equal(received, At(Lines(packet, "cash")[^1], "received"));
        Assert.Contains(Rows(Under(await ask.PageAsync(User, "/months/2026-12"), "cash")), row => row.Contains("total") && row.Contains(received));
        // By shop and by day the command line lists the lines.
        var lines = Read(await ask.CommandAsync("postings", "--movement", "received", "--month", "2026-12", "--known", AtClose, "--format", "json"));
        Assert.Equal(received, lines.EnumerateArray().Where(one => At(one, "account").Contains(":1", StringComparison.Ordinal) && one.TryGetProperty("debit", out _))
            .Sum(one => decimal.Parse(At(one, "debit"), CultureInfo.InvariantCulture)).ToString("0.00", CultureInfo.InvariantCulture));
    });

    [Fact]
    public Task Question_3_What_equity_do_families_hold() => year.AskAsync(User, 3, async ask =>
    {
        var accounts = await AccountsAsync(ask);
        var usable = Sum(accounts.Where(one => At(one, "status") is "active" or "on-hold" or "signed"), "equity");
        var packet = await PacketAsync(ask, "2026-12");
        Assert.Equal(usable, At(Assert.Single(Lines(packet, "equity-memo"), line => At(line, "number") == "9000"), "closing"));
        Assert.Contains(Rows(Under(await ask.PageAsync(User, "/months/2026-12"), "equity-memo")), row => row[0] == "9000" && row[^1] == usable);
    });

    [Fact]
    public Task Question_4_Does_the_ledger_tie_to_the_accounts() => year.AskAsync(User, 4, async ask =>
    {
        var packet = await PacketAsync(ask, "2026-12");
        Assert.All(packet.GetProperty("checks").EnumerateArray(), check => Assert.True(check.GetProperty("passed").GetBoolean(), check.ToString()));
        var pastDue = Sum(await AccountsAsync(ask), "pastDue");
        const string tie = "The postings add up to every account folded anew";
        Assert.Equal("0 accounts differ", At(packet.GetProperty("checks").EnumerateArray().Single(check => At(check, "name") == tie), "detail"));
        var page = await ask.PageAsync(User, "/months/2026-12");
        Row(page, tie, "✓ passed", "0 accounts differ");
        Assert.Contains(Rows(Under(page, "ageing")), row => row.Contains(pastDue));
    });

    [Fact]
    public Task Question_5_What_was_recorded_after_the_close() => year.AskAsync(User, 5, async ask =>
    {
        // One payment of 29 December, keyed in after December was closed, is in January's books as of December.
        var packet = await PacketAsync(ask, "2027-01");
        var late = Lines(packet, "prior-periods");
        Assert.All(late, line => Assert.Equal(("C-1029", "2026-12"), (At(line, "contract"), At(line, "month"))));
        Assert.Contains(late, line => At(line, "amount") == "1.00");
        Assert.Contains(Rows(Under(await ask.PageAsync(User, "/months/2027-01"), "prior-periods")), row => row[0] == "C-1029" && row.Contains("2026-12") && row[^1] == "1.00");
        var lines = Read(await ask.CommandAsync("postings", "--prior-period", "--month", "2027-01", "--format", "json"));
        Assert.All(lines.EnumerateArray(), line => Assert.Equal(("C-1029", "2026-12-29"), (At(line, "stream"), At(line, "effectiveOn"))));
        Assert.Equal(late.Count, lines.GetArrayLength());
    });

    [Fact]
    public Task Question_6_Who_is_past_due_and_how_old_is_it() => year.AskAsync(User, 6, async ask =>
    {
        var behind = (await AccountsAsync(ask)).Where(one => At(one, "pastDue") != "0.00").ToDictionary(one => At(one, "contract"), one => At(one, "pastDue"));
        Assert.Contains("C-1005", behind.Keys);
        var packet = await PacketAsync(ask, "2026-12");
        Assert.Equal(behind, Lines(packet, "ageing-by-contract").Where(line => At(line, "contract").StartsWith("C-", StringComparison.Ordinal)).ToDictionary(line => At(line, "contract"), line => At(line, "total")));
        var rows = Rows(Under(await ask.PageAsync(User, "/months/2026-12"), "ageing-by-contract"));
        Assert.All(behind, one => Assert.Contains(rows, row => row[0] == one.Key && row[^1] == one.Value));
    });

    [Fact]
    public Task Question_7_What_sales_tax_is_due_and_to_whom() => year.AskAsync(User, 7, async ask =>
    {
        // One family lives at kaimalu-bay: 45.50 of rent and plan a month at 4.5 per cent are 2.0475, to the nearest cent 2.05.
        var packet = await PacketAsync(ask, "2026-12");
        var due = Lines(packet, "tax-by-authority");
        Says(due.Single(line => At(line, "jurisdiction") == "kaimalu-bay"), ("base", "45.50"), ("net", "2.05"));
        Assert.Equal(Sum(due.Where(line => At(line, "jurisdiction") != "total"), "net"), At(due[^1], "net"));
        Assert.Contains(Rows(Under(await ask.PageAsync(User, "/months/2026-12"), "tax-by-authority")), row => row[0] == "kaimalu-bay" && row.Contains("2.05"));
    });

    [Fact]
    public Task Question_8_Which_instruments_left_and_which_came_back() => year.AskAsync(User, 8, async ask =>
    {
        var packet = await PacketAsync(ask, "2027-01");
        var units = Lines(packet, "fleet").Single(line => At(line, "number") == "9020");
        // A flute and the saxophone of C-1042 went out, its trumpet and the units of C-1018 and C-1019 came back, that of C-1014 is lost.
        Says(units, ("placed", "2.00"), ("returned", "-3.00"), ("lost", "-1.00"));
        Assert.Contains(Rows(Under(await ask.PageAsync(User, "/months/2027-01"), "fleet")), row => row[0] == "9020" && row[^1] == At(units, "closing"));
    });

    [Fact]
    public Task Question_9_The_journal_for_the_general_ledger() => year.AskAsync(User, 9, async ask =>
    {
        var journal = await ask.CommandAsync("export-journal", "-");
        Assert.Contains("Card-clearing", journal, StringComparison.Ordinal);
        Assert.Contains("41.04", journal, StringComparison.Ordinal);
        Assert.Equal(journal, (await ask.ApiAsync(User, "/v1/journal")).Text);
        // The page leads to the same bytes, and a closed month's to those as known at its close.
        Assert.Contains("<a href=\"/v1/journal\" download=\"journal.ledger\">", await ask.PageAsync(User, "/months"), StringComparison.Ordinal);
        Assert.Contains($"/v1/journal?form=ledger&amp;known={Uri.EscapeDataString(AtClose)}", await ask.PageAsync(User, "/months/2026-12"), StringComparison.Ordinal);
    });

    [Fact]
    public Task Question_10_The_report_of_a_closed_month_as_it_was_closed() => year.AskAsync(User, 10, async ask =>
    {
        // The payment that was learned after the close has changed nothing in it: the digest is the close's, and the bytes have it.
        var answer = await ask.ApiAsync(User, "/v1/months/2026-12/packet");
        Assert.Equal(await ask.CommandAsync("packet", "2026-12", "--format", "json"), answer.Text);
        var page = await ask.PageAsync(User, "/months/2026-12");
        Assert.Contains("the same bytes as at the close", page, StringComparison.Ordinal);
        Assert.Contains($"SHA-256 {Convert.ToHexStringLower(SHA256.HashData(answer.Bytes))}", page, StringComparison.Ordinal);
        Assert.Equal(AtClose, At(Read(answer.Text), "known"));
    });

    private static Task<JsonElement> PacketAsync(Asked ask, string month) => ask.BothAsync(User, $"/v1/months/{month}/packet", "packet", month);

    /// <summary>The accounts at the end of December as known at its close, over the API only.</summary>
    private static async Task<IReadOnlyList<JsonElement>> AccountsAsync(Asked ask)
    {
        var answer = await ask.Running.GetAsync(User, $"/v1/accounts?on=2026-12-31&known={AtClose}&limit=200");
        return [.. Read(answer.Text).EnumerateArray()];
    }

    private static List<JsonElement> Lines(JsonElement packet, string report) =>
        [.. packet.GetProperty("reports").EnumerateArray().Single(one => At(one, "id") == report).GetProperty("rows").EnumerateArray().Select(row => row.GetProperty("cells"))];

    private static string Sum(IEnumerable<JsonElement> lines, string figure) =>
        lines.Sum(line => decimal.Parse(At(line, figure), CultureInfo.InvariantCulture)).ToString("0.00", CultureInfo.InvariantCulture);

    private static IEnumerable<JsonElement> Commands()
    {
        using var stream = DemoCommand.OpenSchoolYear();
        using var reader = new StreamReader(stream, Encoding.UTF8);
        return [.. reader.ReadToEnd().Split('\n', StringSplitOptions.RemoveEmptyEntries).Select(Read)];
    }
}
