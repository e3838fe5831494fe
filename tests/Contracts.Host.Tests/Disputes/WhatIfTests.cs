using System.Net;
using System.Text.Json.Nodes;
using Contracts.Host.Tests.Serving.Api;
using Contracts.Host.Tests.Serving.Pages;
using Contracts.Host.Tests.Support;
using NodaTime;
using Xunit;

namespace Contracts.Host.Tests.Disputes;

/// <summary>What would be, over HTTP, on the command line and on a page: one answer, nothing recorded, and corrections that do what they say.</summary>
public sealed class WhatIfTests(Server server)
{
    private const string Path = "/v1/accounts/C-1/what-if";

    // Due on the 1st with seven days of grace: a fee of 5.00 stands since the 9th, because the payment is of the 19th.
    private const string Earlier = """{"redate":"p-1","on":"2026-09-05"}""";

    [Fact]
    public async Task The_api_answers_the_bytes_of_the_command_line_and_records_who_looked_and_nothing_else()
    {
        await using var running = await ShopAsync();
        var before = await EventsAsync(running);
        var answer = await running.PostAsync("developer", $"{Path}?on=2026-09-24", Earlier, ("X-Purpose", "a call about September"));
        Assert.True(answer.Status == HttpStatusCode.OK, answer.Text);
        var json = JsonNode.Parse(answer.Text)!;
        Assert.Contains("{\"figure\":\"pastDue\",\"before\":\"5.00\",\"after\":\"0.00\",\"difference\":\"-5.00\"}", answer.Text, StringComparison.Ordinal);
        Assert.Equal(("2026-09-05", "late:2026-09-01", "goes"), ((string?)json["departure"]!["on"], (string?)json["charges"]![0]!["id"], (string?)json["charges"]![0]!["how"]));
        Assert.Equal(("waive", "late:2026-09-01"), ((string?)json["corrections"]!["commands"]![0]!["do"], (string?)json["corrections"]!["commands"]![0]!["fee"]));
        Assert.Equal(answer.Text, (await Shell.ContractsReadingAsync(running.Database, Earlier, "what-if", "C-1", "-", "--on", "2026-09-24", "--format", "json")).Output);
        var options = await Shell.ContractsWithAsync(running.Database, "what-if", "C-1", "--redate", "p-1", "--to", "2026-09-05", "--on", "2026-09-24", "--format", "json");
        Assert.Equal(answer.Text, options.Output);
        Assert.Equal(before, await EventsAsync(running));
        var read = Assert.Single(await running.Store.Readings.OfAsync("C-1"));
        Assert.Equal(("A developer", "/v1/accounts/{contract}/what-if", "a call about September"), (read.By, read.Route, read.Purpose));
    }

    [Fact]
    public async Task An_earlier_knowledge_has_figures_and_no_corrections_and_what_could_not_have_been_is_refused()
    {
        await using var running = await ShopAsync();
        var then = JsonNode.Parse((await running.PostAsync("support", $"{Path}?on=2026-09-24&known=2026-09-10", """{"add":{"do":"pay","on":"2026-09-02","amount":"21.60","method":"cash"}}""")).Text)!;
        Assert.Null(then["corrections"]);
        Assert.Equal("late:2026-09-01", (string?)then["charges"]![0]!["id"]);
        (await running.PostAsync("support", Path, """{"remove":"p-9"}""")).IsProblem(400, "field-invalid");
        (await running.PostAsync("support", Path, "{}")).IsProblem(400, "field-missing");
        (await running.PostAsync("support", Path, "[]")).IsProblem(400, "malformed-line");
        (await running.PostAsync("support", "/v1/accounts/C-9/what-if", Earlier)).IsProblem(404, "contract-unknown");
        (await running.PostAsync("support", Path, """{"add":{"do":"buy","on":"2026-09-24","amount":"1.00","method":"cash"}}""")).IsProblem(422, "purchase-amount-wrong");
        (await running.PostAsync(null!, Path, Earlier)).IsProblem(401, "key-missing");
        var usage = await Shell.ContractsWithAsync(running.Database, "what-if", "C-1", "--format", "json");
        Assert.NotEqual(0, usage.Exit);
        Assert.Contains("field-missing", usage.Error, StringComparison.Ordinal);
    }

    [Fact]
    public async Task The_corrections_are_a_command_file_that_brings_the_account_there()
    {
        await using var running = await ShopAsync();
        var file = System.IO.Path.GetTempFileName();
        try
        {
            var (exit, would, error) = await Shell.ContractsWithAsync(
                running.Database, "what-if", "C-1", "--change", "p-1", "--with", """{"amount":"30.00"}""", "--on", "2026-09-24", "--corrections", file, "--format", "csv");
            Assert.True(exit == 0, error);
            Assert.Contains("unappliedCredit,0.00,3.40,3.40", would, StringComparison.Ordinal);
            var lines = await File.ReadAllLinesAsync(file, TestContext.Current.CancellationToken);
            Assert.Equal(["reverse-payment", "pay"], lines.Select(line => (string?)JsonNode.Parse(line)!["do"]));
            // Who works on the database needs no second person; the store's clock is simulated, so a line says when.
            var applied = await running.Store.ApplyAsync([.. lines.Select(line => line.Replace("{\"do\"", "{\"at\":\"2026-09-24T13:00:00Z\",\"do\"", StringComparison.Ordinal))]);
            Assert.DoesNotContain(applied, one => one is Contracts.Store.CommandResult.Refused);
            var account = JsonNode.Parse((await running.GetAsync("support", "/v1/accounts/C-1?on=2026-09-24")).Text)!;
            Assert.Equal(("3.40", "26.60", "0.00"), ((string?)account["unappliedCredit"], (string?)account["paid"]!["total"], (string?)account["pastDue"]));
        }
        finally
        {
            File.Delete(file);
        }
    }

    [Fact]
    public async Task On_the_page_a_clerk_supposes_and_proposes_and_a_manager_approves()
    {
        await using var running = await ShopAsync();
        Assert.Contains("(p-1)</option>", (await running.GetAsync("support", "/account/C-1/what-if")).Text, StringComparison.Ordinal);
        var page = (await running.GetAsync("support", "/account/C-1/what-if?what=amount&fact=p-1&amount=30.00&on=2026-09-24")).Text;
        Assert.Contains("Supposed, and nothing recorded", page, StringComparison.Ordinal);
        Assert.Contains("<th scope=\"row\">money waiting</th><td class=\"n\">0.00</td><td class=\"n\"><strong>3.40</strong></td>", page, StringComparison.Ordinal);
        // Who may not propose sees no button.
        Assert.DoesNotContain("Propose it", (await running.GetAsync("auditor", "/account/C-1/what-if?what=amount&fact=p-1&amount=30.00&on=2026-09-24")).Text, StringComparison.Ordinal);
        var fields = PageForms.Hidden(page).Append(new("reason", "the till says 30.00")).ToList();
        Assert.Equal(HttpStatusCode.Forbidden, (await PageForms.PostAsync(running, "auditor", "/account/C-1/what-if", fields)).Status);
        var proposed = await PageForms.PostAsync(running, "support", "/account/C-1/what-if", fields);
        Assert.Equal((HttpStatusCode.Found, "/account/C-1/dispute?on=2026-09-24#proposals"), (proposed.Status, proposed.Headers["Location"]));
        // A second click proposes nothing again, and nothing is done yet.
        await PageForms.PostAsync(running, "support", "/account/C-1/what-if", fields);
        var all = await running.Store.Proposals.ListAsync(Instant.MaxValue);
        Assert.Equal(2, all.Count);
        Assert.All(all, one => Assert.Equal(("A support", "C-1", "the till says 30.00"), (one.Proposal.Maker, one.Contract, one.Reason)));
        Assert.Contains("\"unappliedCredit\":\"0.00\"", (await running.GetAsync("support", "/v1/accounts/C-1?on=2026-09-24")).Text, StringComparison.Ordinal);

        foreach (var one in all)
        {
            var place = $"/proposals/{one.Proposal.Id}";
            var approved = await PageForms.PostAsync(running, "manager", place, [.. PageForms.Hidden((await running.GetAsync("manager", place)).Text).Take(3), new("decision", "approve")]);
            Assert.True(approved.Status == HttpStatusCode.Found, approved.Text);
        }

        Assert.Contains("\"unappliedCredit\":\"3.40\"", (await running.GetAsync("support", "/v1/accounts/C-1?on=2026-09-24")).Text, StringComparison.Ordinal);
        Assert.Contains("That could not have been.", (await running.GetAsync("support", "/account/C-1/what-if?what=redate&fact=p-1&day=2026-08-01&on=2026-09-24")).Text, StringComparison.Ordinal);
    }

    private async Task<RunningApi> ShopAsync()
    {
        var running = await RunningApi.StartAsync(server);
        await running.AppliedAsync(Lines.Tax);
        await running.AppliedAsync(Lines.Sign("C-1", "S-1"));
        await running.AppliedAsync(Lines.Pay("C-1", "p-1", "21.60", "2026-09-24T12:00:00Z", "2026-09-19"));
        return running;
    }

    private static async Task<int> EventsAsync(RunningApi running) => (await running.Store.Reader.HistoryAsync("C-1", Instant.MaxValue))!.Entries.Length;
}
