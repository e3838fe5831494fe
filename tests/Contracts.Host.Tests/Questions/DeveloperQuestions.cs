using System.Text.Json;
using Xunit;
using static Contracts.Host.Tests.Questions.Asked;

namespace Contracts.Host.Tests.Questions;

/// <summary>The ten questions of who is told that a figure is wrong, about the check that was keyed in four days late.</summary>
[Collection(QuestionsOfTheYear.Name)]
public sealed class DeveloperQuestions(DemoYear year)
{
    private const string User = "developer";
    private const string Before = "2026-12-09T14:35:09Z";
    private const string After = "2026-12-09T14:35:10Z";

    [Fact]
    public Task Question_1_Show_exactly_what_was_there_then() => year.AskAsync(User, 1, async ask =>
    {
        // A moment is for ever: what was learned since, and what day it is, change nothing in the bytes.
        var account = await ask.BothAsync(User, $"/v1/accounts/C-1042?on=2026-12-09&known={Before}", "account", "C-1042", "--on", "2026-12-09", "--known", Before);
        Says(account, ("equity", "94.50"), ("known", Before));
        Tile(await ask.PageAsync(User, $"/account/C-1042?on=2026-12-09&known={Before}"), "equity", "$94.50");
    });

    [Fact]
    public Task Question_2_Which_event_first_made_the_figure_otherwise() => year.AskAsync(User, 2, async ask =>
    {
        var compare = await ask.BothAsync(
            User, "/v1/accounts/C-1042/compare?on=2026-12-07&known=2026-12-07&withOn=2026-12-07&withKnown=2027-06-15",
            "compare", "C-1042", "--on", "2026-12-07", "--known", "2026-12-07", "--with-on", "2026-12-07", "--with-known", "2027-06-15");
        var equity = compare.GetProperty("figures").EnumerateArray().Single(one => At(one, "figure") == "equity");
        Says(equity, ("from", "94.50"), ("to", "126.00"));
        Assert.Equal("C-1042-007", At(Assert.Single(equity.GetProperty("because").EnumerateArray()), "event.key"));
        var page = Under(await ask.PageAsync(User, "/account/C-1042?on=2026-12-07&known=2026-12-07"), "changed");
        Row(page, "equity", "94.50", "126.00");
        Assert.Contains("C-1042-007", page, StringComparison.Ordinal);
    });

    [Fact]
    public Task Question_3_What_was_it_right_before_and_after_an_event() => year.AskAsync(User, 3, async ask =>
    {
        var compare = await ask.BothAsync(
            User, $"/v1/accounts/C-1042/compare?on=2026-12-07&known={Before}&withOn=2026-12-07&withKnown={After}",
            "compare", "C-1042", "--on", "2026-12-07", "--known", Before, "--with-on", "2026-12-07", "--with-known", After);
        var rent = compare.GetProperty("figures").EnumerateArray().Single(one => At(one, "figure") == "paid.rent");
        Says(rent, ("from", "94.50"), ("to", "126.00"), ("difference", "31.50"));
        var page = await ask.PageAsync(User, "/account/C-1042/replay");
        Row(Under(page, $"e{At(rent.GetProperty("because")[0], "event.sequence")}"), "rent paid", "94.50", "126.00");
    });

    [Fact]
    public Task Question_4_Which_change_of_the_program_made_it_wrong() => year.AskAsync(User, 4, async ask =>
    {
        // What another build recorded stands in for that build: it held a dollar more equity after one payment.
        var folder = Directory.CreateTempSubdirectory("contracts-builds-").FullName;
        try
        {
            var (same, other) = (Path.Combine(folder, "good.jsonl"), Path.Combine(folder, "other.jsonl"));
            await ask.CommandAsync("results", "--out", same);
            // The codes are those that a bisection takes: 0 good, 1 bad.
            Says(Read(await ask.CommandAsync("differ", same, "--format", "json")), ("same", "True"), ("parted", "0"));
            await File.WriteAllLinesAsync(other, (await File.ReadAllLinesAsync(same)).Select(OtherBuild));
            var told = Read(await ask.CommandAsync(1, "differ", other, "--format", "json"));
            Says(told, ("same", "False"), ("parted", "1"));
            var cause = Assert.Single(told.GetProperty("causes").EnumerateArray());
            Says(cause, ("event", "payment_received"), ("leading", "equity"), ("first.contract", "C-1042"), ("first.on", "2027-05-05"));
            // The host's own build gives its results and takes another's, to the same bytes as at a terminal.
            Assert.Equal(await File.ReadAllTextAsync(same), (await ask.ApiAsync(User, "/v1/results")).Text);
            Assert.Equal(await ask.CommandAsync(1, "differ", other, "--format", "json"), (await ask.SentAsync(User, "/v1/results/differ", other)).Text);
            var page = await ask.ResultsPageAsync(User, other);
            Row(page, "equity", "326.50", "325.50");
            Assert.Contains("parted", Under(page, "builds"), StringComparison.OrdinalIgnoreCase);
        }
        finally
        {
            Directory.Delete(folder, true);
        }
    });

    [Fact]
    public Task Question_5_What_would_a_change_of_the_program_move() => year.AskAsync(User, 5, async ask =>
    {
        var folder = Directory.CreateTempSubdirectory("contracts-builds-").FullName;
        try
        {
            var other = Path.Combine(folder, "now.jsonl");
            await ask.CommandAsync("results", "--out", other);
            await File.WriteAllLinesAsync(other, (await File.ReadAllLinesAsync(other)).Select(OtherBuild));
            var told = Read(await ask.CommandAsync(1, "differ", other, "--format", "json"));
            var figure = Assert.Single(told.GetProperty("causes")[0].GetProperty("first").GetProperty("figures").EnumerateArray());
            Says(figure, ("figure", "equity"), ("recorded", "326.50"), ("now", "325.50"), ("by", "-1.00"));
            Assert.Equal("C-1042", Assert.Single(told.GetProperty("causes")[0].GetProperty("contracts").EnumerateArray()).GetString());
            Says(Read((await ask.SentAsync(User, "/v1/results/differ", other)).Text), ("parted", "1"));
            Assert.Contains("1 at payment_received: C-1042", await ask.ResultsPageAsync(User, other), StringComparison.Ordinal);
        }
        finally
        {
            Directory.Delete(folder, true);
        }
    });

    /// <summary>A line of results with a dollar more equity after the payment of 5 May 2027.</summary>
    private static string OtherBuild(string line)
    {
        if (!line.StartsWith("""{"contract":"C-1042",""", StringComparison.Ordinal)) { return line; }
        var contract = System.Text.Json.Nodes.JsonNode.Parse(line)!;
        var figures = contract["steps"]!.AsArray().Last(step => (string)step![1]! == "payment_received")![3]!.AsArray();
        Assert.Equal((0, 32550), ((int)figures[0]!, (int)figures[1]!));
        figures[1] = 32650;
        return contract.ToJsonString();
    }

    [Fact]
    public Task Question_6_Is_a_stored_read_model_stale_or_wrong() => year.AskAsync(User, 6, async ask =>
    {
        var check = await ask.BothAsync(User, "/v1/check", "check");
        Says(check, ("ok", "True"));
        Assert.True(check.GetProperty("checked").GetProperty("placements").GetInt32() > 0 && check.GetProperty("checked").GetProperty("book cells").GetInt32() > 0);
        var page = await ask.PageAsync(User, "/checks?run=yes");
        Assert.Contains("Everything holds", page, StringComparison.Ordinal);
        Row(page, "placements", At(check, "checked.placements"));
    });

    [Fact]
    public Task Question_7_Why_was_the_command_refused() => year.AskAsync(User, 7, async ask =>
    {
        const string command = """{"do":"buy","contract":"C-1016","on":"2027-06-15","amount":"655.00","method":"cash"}""";
        var refused = await ask.BothRefuseAsync(User, "/v1/commands/preview", command, "preview", "-");
        Says(refused, ("code", "purchase-amount-wrong"), ("status", "422"), ("rightFigure", "655.20"), ("field", "amount"));
        // The form is for those who may do it.
        var page = await ask.PageAsync("counter", "/account/C-1016/do/buy?on=2027-06-15&amount=655.00&method=cash", 422);
        Assert.Contains("655.20", page, StringComparison.Ordinal);
        Assert.Contains("purchase-amount-wrong", page, StringComparison.Ordinal);
    });

    [Fact]
    public Task Question_8_What_is_stored_of_an_event() => year.AskAsync(User, 8, async ask =>
    {
        var page = System.Net.WebUtility.HtmlDecode(await ask.PageAsync(User, "/account/C-1042/replay"));
        Assert.Contains("\"reference\":\"check 318\"", page.Replace("\": ", "\":", StringComparison.Ordinal), StringComparison.Ordinal);
        Assert.DoesNotContain("H-242", page, StringComparison.Ordinal);
        // A terminal on the database shows the household; a developer's key does not, and an auditor's answer is the terminal's.
        var stored = await ask.BothAsync("auditor", "/v1/accounts/C-1042/events", "history", "C-1042", "--stored");
        Assert.Equal("H-242", At(stored.EnumerateArray().First(), "data.household"));
        Assert.Equal("check 318", At(stored.EnumerateArray().First(one => one.GetProperty("data").TryGetProperty("reference", out var reference) && reference.ToString() == "check 318"), "data.reference"));
        Assert.DoesNotContain("H-242", (await ask.ApiAsync(User, "/v1/accounts/C-1042/events")).Text, StringComparison.Ordinal);
    });

    [Fact]
    public Task Question_9_Is_it_well_and_how_far_is_sealing_behind() => year.AskAsync(User, 9, async ask =>
    {
        var ready = Read((await ask.ApiAsync(User, "/health/ready")).Text);
        Says(ready, ("status", "ready"), ("unsealed", "0"));
        Assert.Equal("0", Read(await ask.CommandAsync("check", "--format", "json")).GetProperty("checked").GetProperty("events that wait for their seal").ToString());
        Tile(await ask.PageAsync(User, "/seals"), "events that wait for their seal", "0");
    });

    [Fact]
    public Task Question_10_Which_command_wrote_the_event_and_who_sent_it() => year.AskAsync(User, 10, async ask =>
    {
        var history = await ask.BothAsync(User, "/v1/accounts/C-1004/history", "history", "C-1004");
        var credit = history.EnumerateArray().Single(one => At(one, "event") == "credit_given");
        Says(credit, ("on", "2027-06-12"), ("money", "60.00"), ("by", "quay-road"), ("approvedBy", "office"));
        var page = await ask.PageAsync(User, "/account/C-1004");
        Assert.Contains(Rows(page), row => row.Length == 6 && row[0] == "2027-06-12" && row[2] == "60.00" && row[3] == "quay-road, approved by office" && row[5] == At(credit, "key"));
    });
}
