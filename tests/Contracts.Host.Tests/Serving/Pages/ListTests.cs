using System.Net;
using System.Text.Json;
using System.Text.RegularExpressions;
using Contracts.Host.Serving.Api;
using Contracts.Host.Tests.Serving.Api;
using Contracts.Host.Tests.Support;
using Contracts.Store;
using Microsoft.Extensions.DependencyInjection;
using Xunit;

namespace Contracts.Host.Tests.Serving.Pages;

/// <summary>Accounts asked for by what they have in common, histories by kind, and the pages of checks and disclosures.</summary>
public sealed class ListTests(Server server)
{
    private const string View = "on=2026-10-20&known=2026-10-25T12:00:00Z";

    private static readonly (string Asked, string Found)[] Alike =
    [
        ("status=active", "C-1 C-2 C-3 C-4"),
        ("status=returned", ""),
        ("status=active&met=entry-error", "C-2"),
        ("met=bank-return", "C-3"),
        ("met=correction", "C-2 C-3 C-4"),
        ("met=correction&met=backdated", "C-2"),
        ("met=payment_received", "C-1 C-2 C-3"),
        ("met=late-fee", "C-3 C-4"),
        ("met=late-fee-reversed", "C-4"),
        ("basis=terms", "C-1 C-2 C-3 C-4"),
        ("jurisdiction=J", "C-1 C-2 C-3 C-4"),
        ("jurisdiction=K", ""),
        ("state=OR&law=none", ""),
        ("later=moved", "C-1"),
        ("met=correction&later=same", "C-2 C-3 C-4"),
    ];

    [Fact]
    public async Task Accounts_are_found_by_what_they_have_in_common()
    {
        await using var running = await ShopAsync();
        foreach (var (asked, expected) in Alike)
        {
            var answer = await running.GetAsync("auditor", $"/v1/accounts?{View}&{asked}");
            Assert.True(answer.Status == HttpStatusCode.OK, answer.Text);
            Assert.Equal((asked, expected), (asked, Contracts(answer.Text)));
            Assert.Contains($"&{asked}>", answer.Headers["Link"], StringComparison.Ordinal);
            var page = (await running.GetAsync("compliance", $"/accounts?{View}&{asked}")).Text;
            Assert.Equal((asked, expected), (asked, string.Join(' ', Regex.Matches(page, "class=\"id\" href=\"/account/([^?]*)\\?").Select(match => match.Groups[1].Value))));
        }
    }

    [Fact]
    public async Task Facets_count_what_their_links_then_show()
    {
        await using var running = await ShopAsync();
        var page = WebUtility.HtmlDecode((await running.GetAsync("compliance", $"/accounts?{View}")).Text);
        var facets = Regex.Matches(page, "<li><a href=\"(/accounts[^\"]*)\">([^<]*)</a> <span class=\"soft\">([0-9]+)</span></li>");
        Assert.True(facets.Count > 10, page);
        foreach (Match facet in facets)
        {
            var behind = (await running.GetAsync("compliance", facet.Groups[1].Value)).Text;
            Assert.Contains($"<strong>{facet.Groups[3].Value}</strong> account", behind, StringComparison.Ordinal);
        }
    }

    [Fact]
    public async Task Pages_of_a_filtered_list_keep_its_conditions_and_see_each_account_once()
    {
        await using var running = await ShopAsync();
        // C-4 has paid nothing: a link that lost the condition would lead to it.
        var (path, seen) = ($"/v1/accounts?{View}&met=payment_received&limit=1", new List<string>());
        while (path is not null)
        {
            var answer = await running.GetAsync("auditor", path);
            seen.Add(Contracts(answer.Text));
            path = Regex.Match(answer.Headers["Link"], "<([^>]*)>; rel=\"next\"") is { Success: true } next ? next.Groups[1].Value : null;
        }

        Assert.Equal(["C-1", "C-2", "C-3"], seen.SelectMany(one => one.Split(' ', StringSplitOptions.RemoveEmptyEntries)));
    }

    [Fact]
    public async Task A_word_that_no_list_or_history_knows_is_refused_with_the_words_there_are()
    {
        await using var running = await ShopAsync();
        foreach (var path in new[] { "/v1/accounts?met=wrong", "/v1/accounts?later=perhaps", "/v1/accounts?status=gone", "/v1/accounts/C-1/history?kind=wrong" })
        {
            Assert.Contains("is one of", (await running.GetAsync("auditor", path)).IsProblem(400, "field-invalid").Text, StringComparison.Ordinal);
        }

        Assert.Equal(HttpStatusCode.BadRequest, (await running.GetAsync("auditor", "/accounts?met=wrong")).Status);
        Assert.Equal(HttpStatusCode.BadRequest, (await running.GetAsync("auditor", "/account/C-1?kind=wrong")).Status);
        var (exit, _, error) = await Shell.ContractsAsync(running.Database, "accounts", "--where", "colour=blue", "--format", "json");
        Assert.Equal(1, exit);
        Assert.Contains("status, basis, state, jurisdiction, law, met, later", error, StringComparison.Ordinal);
    }

    [Fact]
    public async Task Who_may_not_see_households_does_not_find_by_them()
    {
        await using var running = await ShopAsync();
        Assert.Equal("C-1 C-2 C-3 C-4", Contracts((await running.GetAsync("support", "/v1/find?q=h")).Text));
        Assert.Equal("", Contracts((await running.GetAsync("developer", "/v1/find?q=h")).Text));
        Assert.Equal("C-1", Contracts((await running.GetAsync("developer", "/v1/find?q=s-c-1")).Text));
        Assert.Equal("[]\n", (await running.GetAsync("support", $"/v1/find?q={new string('x', 300)}")).Text);
    }

    [Fact]
    public async Task A_check_runs_when_its_button_is_pressed_and_says_what_does_not_hold()
    {
        await using var running = await ShopAsync();
        Assert.DoesNotContain("Everything holds", (await running.GetAsync("developer", "/checks")).Text, StringComparison.Ordinal);
        Assert.Contains("Everything holds", (await running.GetAsync("developer", "/checks?run=yes")).Text, StringComparison.Ordinal);
        var one = running.Alba.Services.GetRequiredService<OneCheck>();
        Assert.True(one.TryBegin());
        var busy = await running.GetAsync("auditor", "/checks?run=yes");
        Assert.Equal((HttpStatusCode.TooManyRequests, "30"), (busy.Status, busy.Headers["Retry-After"]));
        one.End();
        await Server.RunAsync(running.Store.Connection.Owner!, "update contracts.mt_events set data = jsonb_set(data, '{amount}', '\"9.00\"') where type = 'payment_received'");
        var bad = (await running.GetAsync("auditor", "/checks?run=yes")).Text;
        Assert.DoesNotContain("Everything holds", bad, StringComparison.Ordinal);
        Assert.Contains("<td class=\"id\">C-1</td>", bad, StringComparison.Ordinal);
    }

    [Fact]
    public async Task The_sheet_as_it_was_given_stands_beside_the_pack_that_asks_for_it_and_the_seals()
    {
        await using var running = await ShopAsync();
        Assert.Contains("No sheet is on record.", (await running.GetAsync("compliance", "/account/C-1/disclosures")).Text, StringComparison.Ordinal);
        await running.AppliedAsync("""{"do":"issue","key":"sheet-1","at":"2026-10-26T12:00:00Z","contract":"C-1","on":"2026-09-01","kind":"agreement"}""");
        await running.Store.SealerWith(running.Signer).SealAsync(anchor: true, TestContext.Current.CancellationToken);
        var page = WebUtility.HtmlDecode((await running.GetAsync("compliance", "/account/C-1/disclosures")).Text);
        var paper = JsonDocument.Parse((await running.GetAsync("compliance", "/v1/accounts/C-1/papers/sheet-1?format=json")).Bytes).RootElement;
        var lines = paper.GetProperty("agreement").GetProperty("disclosures").EnumerateArray().ToList();
        Assert.True(lines.Count > 20);
        Assert.All(lines, line => Assert.Contains($"<td>{line.GetProperty("text").GetString()}</td>", page, StringComparison.Ordinal));
        var papers = JsonDocument.Parse((await running.GetAsync("compliance", "/v1/accounts/C-1/papers")).Bytes).RootElement;
        Assert.Contains($"SHA-256 {papers[0].GetProperty("digest").GetString()}", page, StringComparison.Ordinal);
        Assert.Contains("Made again just now: the same bytes.", page, StringComparison.Ordinal);
        Assert.Contains("Rent-to-own disclosure rules vary by state", page, StringComparison.Ordinal);
        Assert.Matches("([0-9]+) of \\1 events of this contract are under the newest signed head", page);
        Assert.Equal(HttpStatusCode.Forbidden, (await running.GetAsync("developer", "/account/C-1/disclosures")).Status);

        // A fact behind the paper that is not what it was: the page says so.
        await Server.RunAsync(running.Store.Connection.Owner!, "update contracts.mt_events set data = jsonb_set(data, '{household}', '\"H-0\"') where type = 'signed' and stream_id = 'C-1'");
        Assert.Contains("Made again it is not what it was.", (await running.GetAsync("compliance", "/account/C-1/disclosures")).Text, StringComparison.Ordinal);
    }

    private static string Contracts(string json)
    {
        using var read = JsonDocument.Parse(json);
        return string.Join(' ', read.RootElement.EnumerateArray().Select(one => one.GetProperty("contract").GetString()));
    }

    /// <summary>
    /// Four lives. Two installments are 21.60 and 32.40, with seven days of grace. One pays both and turns out later to have paid more; one pays both, which is found
    /// later to have been keyed twice; one pays the first, which the bank takes back, and is late with the second; one pays nothing and is let off the first of two late fees.
    /// </summary>
    private async Task<RunningApi> ShopAsync()
    {
        var running = await RunningApi.StartAsync(server);
        string[] contracts = ["C-1", "C-2", "C-3", "C-4"];
        await running.AppliedAsync(Lines.Tax);
        foreach (var contract in contracts) { await running.AppliedAsync(Lines.Sign(contract, $"S-{contract}")); }
        foreach (var contract in contracts[..3]) { await running.AppliedAsync(Lines.Pay(contract, $"p-{contract}", contract == "C-3" ? "21.60" : "54.00", "2026-09-02T12:00:00Z")); }
        var told = await running.Store.ApplyAsync(
            """{"do":"waive","key":"w-4","at":"2026-10-15T12:00:00Z","contract":"C-4","on":"2026-10-15","fee":"late:2026-09-01","reason":"the mail was late"}""",
            """{"do":"reverse-payment","key":"r-3","at":"2026-10-20T20:00:00Z","contract":"C-3","on":"2026-10-20","payment":"p-C-3","code":"R01","reason":"insufficient funds"}""",
            """{"do":"reverse-payment","key":"r-2","at":"2026-10-22T12:00:00Z","contract":"C-2","on":"2026-10-20","payment":"p-C-2","code":"entry-error","reason":"keyed twice"}""",
            Lines.Pay("C-1", "p-late", "1.00", "2026-10-26T11:00:00Z", on: "2026-10-19"));
        Assert.All(told, one => Assert.IsType<CommandResult.Applied>(one));
        await running.Store.SealerWith(running.Signer).SealAsync(anchor: false, TestContext.Current.CancellationToken);
        return running;
    }
}
