using System.Net;
using System.Text;
using System.Text.RegularExpressions;
using Contracts.Host.Tests.Support;
using Xunit;

namespace Contracts.Host.Tests.Serving.Api;

/// <summary>What a route answers is what the command line prints, byte for byte.</summary>
public sealed class SameAnswerTests(Server server)
{
    private const string View = "on=2026-10-20&known=2026-10-01T12:00:00Z";
    private static readonly string[] ViewOptions = ["--on", "2026-10-20", "--known", "2026-10-01T12:00:00Z"];
    private const string Offer =
        """{"state":"OR","jurisdiction":"J","startOn":"2026-10-05","terms":{"cashPrice":"300.00","purchasePrice":"300.00","monthlyRent":"30.00","creditShare":"1.00","earlyPurchase":[{"discount":"0.25"}],"lateFee":{"amount":"5.00","graceDays":7}}}""";

    [Fact]
    public async Task Each_read_gives_the_bytes_of_the_command_line()
    {
        await using var running = await SomeLivesAsync();
        await SameAsync(running, $"/v1/accounts/C-1?{View}", ["account", "C-1", .. ViewOptions]);
        await SameAsync(running, "/v1/accounts/C-1?on=2026-10-20&known=2026-09-30", ["account", "C-1", "--on", "2026-10-20", "--known", "2026-09-30"]);
        await SameAsync(running, "/v1/accounts/C-1?on=2026-10-20&known=size:3", ["account", "C-1", "--on", "2026-10-20", "--known", "size:3"]);
        await SameAsync(running, $"/v1/accounts/C-1/totals?{View}", ["totals", "C-1", .. ViewOptions]);
        await SameAsync(running, $"/v1/accounts/C-1/totals?{View}&figure=paid.rent", ["totals", "C-1", "--figure", "paid.rent", .. ViewOptions]);
        foreach (var figure in new[] { "equity", "earlyPurchase.payoff", "pastDue", "openItems.installment:2026-10-01", "nextDue.amount" })
        {
            await SameAsync(running, $"/v1/accounts/C-1/explain/{figure}?{View}", ["explain", "C-1", figure, .. ViewOptions]);
        }

        await SameAsync(
            running, $"/v1/accounts/C-1/compare?{View}&withOn=2026-11-20&withKnown=2026-10-20T12:00:00Z",
            ["compare", "C-1", .. ViewOptions, "--with-on", "2026-11-20", "--with-known", "2026-10-20T12:00:00Z"]);
        await SameAsync(
            running, "/v1/accounts/C-1/statement?from=2026-09-10&through=2026-11-20&known=2026-10-20T12:00:00Z",
            ["statement", "C-1", "--from", "2026-09-10", "--through", "2026-11-20", "--known", "2026-10-20T12:00:00Z"]);
        await SameAsync(running, "/v1/accounts/C-1/statement?through=2026-10-20&known=size:3", ["statement", "C-1", "--through", "2026-10-20", "--known", "size:3"]);
        await SameAsync(running, "/v1/accounts/C-1/history?known=2026-10-01T12:00:00Z", ["history", "C-1", "--known", "2026-10-01T12:00:00Z"]);
        await SameAsync(running, "/v1/accounts/C-1/history", ["history", "C-1"]);
        await SameAsync(running, "/v1/accounts/C-1/history?kind=backdated", ["history", "C-1", "--kind", "backdated"]);
        await SameAsync(running, "/v1/find?q=s-c-1", ["find", "s-c-1"]);
        await SameAsync(running, "/v1/find?q=C-1", ["find", "C-1"]);
        await SameAsync(running, "/v1/find?q=nothing", ["find", "nothing"]);
        await SameAsync(running, $"/v1/accounts?{View}&status=active&met=backdated&met=payment_received", ["accounts", .. ViewOptions, "--where", "status=active", "--where", "met=backdated", "--where", "met=payment_received"]);
        await SameAsync(running, $"/v1/accounts?format=csv&{View}&later=moved", ["accounts", .. ViewOptions, "--where", "later=moved"], "csv");
        await SameAsync(running, "/v1/accounts/C-1/papers", ["papers", "C-1"]);
        await SameAsync(running, $"/v1/portfolio?{View}", ["portfolio", .. ViewOptions]);
        await SameAsync(running, $"/v1/reports/portfolio/explain/equity?{View}&most=2", ["explain-report", "portfolio", "equity", .. ViewOptions, "--most", "2"]);
        await SameAsync(running, $"/v1/reports/books/explain/1100?{View}", ["explain-report", "books", "1100", .. ViewOptions]);
        await SameAsync(running, $"/v1/accounts?{View}", ["accounts", .. ViewOptions]);
        await SameAsync(running, $"/v1/accounts?format=jsonl&{View}", ["accounts", .. ViewOptions], "jsonl");
        await SameAsync(running, $"/v1/accounts?format=csv&{View}", ["accounts", .. ViewOptions], "csv");
        await SameAsync(running, "/v1/books?through=2026-09-30&known=2026-10-20T12:00:00Z", ["books", "--through", "2026-09-30", "--known", "2026-10-20T12:00:00Z"]);
        await SameAsync(
            running, "/v1/books?through=2026-09-30&known=2026-10-20T12:00:00Z&by=effective",
            ["books", "--through", "2026-09-30", "--known", "2026-10-20T12:00:00Z", "--by-effective-day"]);
        await SameAsync(running, "/v1/books?through=2026-09-30&known=2026-10-20T12:00:00Z&shop=none", ["books", "--through", "2026-09-30", "--known", "2026-10-20T12:00:00Z", "--shop", "none"]);
        await SameAsync(running, "/v1/months/2026-09/packet", ["packet", "2026-09"]);
        await SameAsync(running, "/v1/law", ["law", "list"]);
        await SameAsync(running, "/v1/law/NY", ["law", "show", "NY"]);
    }

    [Fact]
    public async Task An_accept_header_asks_for_all_accounts_like_the_format_does()
    {
        await using var running = await SomeLivesAsync();
        var lines = await running.GetAsync("auditor", $"/v1/accounts?{View}", ("Accept", "application/jsonl"));
        Assert.StartsWith("application/jsonl", lines.Type, StringComparison.Ordinal);
        Assert.Equal((await running.GetAsync("auditor", $"/v1/accounts?format=jsonl&{View}")).Text, lines.Text);
        Assert.StartsWith("contract,on,status", (await running.GetAsync("auditor", $"/v1/accounts?{View}", ("Accept", "text/csv"))).Text, StringComparison.Ordinal);
        (await running.GetAsync("auditor", "/v1/accounts?format=xlsx")).IsProblem(400, "field-invalid");
    }

    [Fact]
    public async Task A_quote_and_a_paper_and_a_checkpoint_are_the_command_lines_and_a_dossier_holds()
    {
        await using var running = await SomeLivesAsync();
        var folder = Directory.CreateTempSubdirectory("api-").FullName;
        try
        {
            var offer = Path.Combine(folder, "offer.json");
            await File.WriteAllTextAsync(offer, Offer, TestContext.Current.CancellationToken);
            var quote = await running.PostAsync("support", "/v1/quotes", Offer);
            Assert.Equal((await Shell.ContractsAsync(running.Database, "quote", offer, "--format", "json")).Output, quote.Text);

            var paper = await running.GetAsync("auditor", "/v1/accounts/C-1/papers/paper%2F1");
            Assert.Equal((await Shell.ContractsAsync(running.Database, "reissue", "paper/1", "--out", "-")).Output, paper.Text);
            Assert.Equal("text/html; charset=utf-8", paper.Type);
            Assert.StartsWith("{", (await running.GetAsync("auditor", "/v1/accounts/C-1/papers/paper%2F1?format=json")).Text, StringComparison.Ordinal);
            (await running.GetAsync("auditor", "/v1/accounts/C-2/papers/paper%2F1")).IsProblem(404, "paper-unknown");

            var head = (await running.Store.Seals.LatestAsync())!;
            Assert.Equal(head.Note, (await running.GetAsync("auditor", "/v1/checkpoint", ("Accept", "text/plain"))).Text);
            Assert.Contains($"\"size\":{head.Size}", (await running.GetAsync("auditor", "/v1/checkpoint")).Text, StringComparison.Ordinal);

            var dossier = await running.PostAsync("compliance", "/v1/accounts/C-1/dossier?on=2026-10-20", "", ("X-Purpose", "a complaint"));
            Assert.True(dossier.Status == HttpStatusCode.OK, dossier.Text);
            var file = Path.Combine(folder, "c-1.zip");
            await File.WriteAllBytesAsync(file, dossier.Bytes, TestContext.Current.CancellationToken);
            var verified = await Shell.ContractsAsync(running.Database, "verify", file, "--format", "json");
            Assert.True(verified.Exit == 0, verified.Output);
            Assert.Equal("a complaint", (await running.Store.Readings.OfAsync("C-1"))[^1].Purpose);
        }
        finally
        {
            Directory.Delete(folder, recursive: true);
        }
    }

    [Fact]
    public async Task A_refusal_is_the_command_lines_but_for_where_its_type_leads()
    {
        await using var running = await SomeLivesAsync();
        foreach (var (path, options) in new (string, string[])[]
        {
            ("/v1/accounts/C-9", ["account", "C-9"]), ("/v1/accounts/C-9/history", ["history", "C-9"]), ("/v1/accounts/C-9/papers", ["papers", "C-9"]),
            ("/v1/accounts/C-9/totals", ["totals", "C-9"]), ("/v1/accounts/C-1/history?kind=mistake", ["history", "C-1", "--kind", "mistake"]),
            ("/v1/accounts?status=gone", ["accounts", "--where", "status=gone"]), ("/v1/accounts?met=mistake", ["accounts", "--where", "met=mistake"]),
            ("/v1/accounts?known=size:2&later=same", ["accounts", "--known", "size:2", "--where", "later=same"]),
            ("/v1/accounts/C-9/explain/equity", ["explain", "C-9", "equity"]), ("/v1/accounts/C-9/compare", ["compare", "C-9"]),
            ("/v1/accounts/C-9/statement", ["statement", "C-9"]), ("/v1/accounts/C-1/statement?from=2026-12-01&through=2026-11-20", ["statement", "C-1", "--from", "2026-12-01", "--through", "2026-11-20"]),
            ("/v1/accounts/C-1/explain/equities", ["explain", "C-1", "equities"]), ("/v1/accounts/C-1/compare?withKnown=size:9999", ["compare", "C-1", "--with-known", "size:9999"]), ("/v1/accounts/C-1?known=size:9999", ["account", "C-1", "--known", "size:9999"]),
            ("/v1/months/2026-10/packet", ["packet", "2026-10"]), ("/v1/months/2026-09/ready", ["ready", "2026-09"]), ("/v1/law/ZZ", ["law", "show", "ZZ"]),
        })
        {
            var printed = await Shell.ContractsAsync(running.Database, [.. options, "--format", "json"]);
            var answer = await running.GetAsync("auditor", path);
            Assert.Equal(1, printed.Exit);
            Assert.Equal(printed.Error.Replace("urn:contracts:refusal:", "/problems/", StringComparison.Ordinal), answer.Text);
            Assert.Equal((int)answer.Status, int.Parse(Regex.Match(answer.Text, "\"status\":([0-9]+)").Groups[1].Value, System.Globalization.CultureInfo.InvariantCulture));
        }
    }

    private async Task<RunningApi> SomeLivesAsync()
    {
        var running = await RunningApi.StartAsync(server);
        await running.AppliedAsync(Lines.Tax);
        foreach (var contract in new[] { "C-1", "C-10", "C-2", "D-1" }) { await running.AppliedAsync(Lines.Sign(contract, $"S-{contract}")); }
        await running.AppliedAsync(Lines.Pay("C-1", "p-1", "21.60", "2026-09-20T12:00:00Z", on: "2026-09-02"));
        await running.AppliedAsync("""{"do":"issue","key":"paper/1","at":"2026-09-21T12:00:00Z","contract":"C-1","on":"2026-09-21","kind":"statement"}""");
        await running.AppliedAsync("""{"do":"close","key":"close","at":"2026-10-15T12:00:00Z","month":"2026-09"}""");
        // Of a month that is closed by now: booked later than it happened.
        await running.AppliedAsync(Lines.Pay("C-2", "late", "1.00", "2026-10-16T12:00:00Z", on: "2026-09-25"));
        await running.AppliedAsync(Lines.Pay("C-2", "p-2", "21.60", "2026-10-20T12:00:00Z"));
        await running.Store.SealerWith(running.Signer).SealAsync(anchor: false, TestContext.Current.CancellationToken);
        return running;
    }

    private static async Task SameAsync(RunningApi running, string path, string[] options, string format = "json")
    {
        var answer = await running.GetAsync("auditor", path);
        Assert.True(answer.Status == HttpStatusCode.OK, $"{path}: {answer.Text}");
        var printed = await Shell.ContractsAsync(running.Database, [.. options, "--format", format]);
        Assert.True(printed.Exit == 0, printed.Error);
        Assert.Equal(printed.Output, Encoding.UTF8.GetString(answer.Bytes));
    }
}
