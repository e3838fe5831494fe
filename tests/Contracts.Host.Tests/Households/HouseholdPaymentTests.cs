using System.Net;
using System.Text.Json.Nodes;
using Contracts.Host.Tests.Serving.Api;
using Contracts.Host.Tests.Serving.Pages;
using Contracts.Host.Tests.Support;
using Xunit;

namespace Contracts.Host.Tests.Households;

/// <summary>One payment over a family's contracts on a real store: all shares or none, once, and the same on every surface. Invented.</summary>
public sealed class HouseholdPaymentTests(Server server)
{
    [Fact]
    public async Task One_payment_pays_every_contract_of_a_family_once_and_all_of_it_or_nothing()
    {
        await using var running = await ShopAsync();
        await running.AppliedAsync("counter", Pay("k-1", "43.20"));
        Assert.Contains("\"already\"", (await running.PostAsync("counter", "/v1/commands", Pay("k-1", "43.20"))).Text, StringComparison.Ordinal);
        Assert.Equal(["C-1 21.60", "C-2 21.60"], await PaidAsync(running));
        (await running.PostAsync("counter", "/v1/commands", Pay("k-2", "5.00", "{\"contract\":\"C-1\",\"amount\":\"4.00\"}"))).IsProblem(422, "household-shares-differ");
        (await running.PostAsync("counter", "/v1/commands", Pay("k-2", "5.00", "{\"contract\":\"C-1\",\"amount\":\"4.00\"},{\"contract\":\"C-3\",\"amount\":\"1.00\"}"))).IsProblem(422, "household-contract-other");
        (await running.PostAsync("counter", "/v1/commands", Pay("share:k-1:1", "5.00"))).IsProblem(400, "field-invalid");
        (await running.PostAsync("support", "/v1/commands", Pay("k-3", "5.00"))).IsProblem(403, "role-forbids");
        Assert.Equal(["C-1 21.60", "C-2 21.60"], await PaidAsync(running));
        // A share is taken back like any payment, by its own key.
        await running.AppliedAsync("manager", """{"do":"reverse-payment","key":"back","at":"2026-09-20T12:00:00Z","contract":"C-2","on":"2026-09-20","payment":"share:k-1:2","code":"R01","reason":"invented"}""");
        Assert.Equal(["C-1 21.60", "C-2 0.00"], await PaidAsync(running));
        var check = await Shell.ContractsAsync(running.Database, "check");
        Assert.True(check.Exit == 0, check.Output + check.Error);
    }

    [Fact]
    public async Task What_a_contract_refuses_leaves_all_of_them_as_they_were()
    {
        await using var running = await ShopAsync();
        var refused = await running.PostAsync("counter", "/v1/commands", Pay("k-1", "43.20").Replace("\"on\":\"2026-09-19\"", "\"on\":\"2027-09-21\"", StringComparison.Ordinal));
        refused.IsProblem(422, "on-too-far-ahead");
        Assert.Equal(["C-1 0.00", "C-2 0.00"], await PaidAsync(running));
        Assert.Empty(await running.Store.Finder.FindAsync("share:k-1:1", TestContext.Current.CancellationToken));
    }

    [Fact]
    public async Task The_statement_of_all_contracts_is_the_same_over_the_API_and_on_the_command_line()
    {
        await using var running = await ShopAsync();
        var told = await running.GetAsync("support", "/v1/households/H/statement?through=2026-09-19&pay=30.00");
        Assert.Equal(HttpStatusCode.OK, told.Status);
        Assert.Equal(told.Text, (await Shell.ContractsAsync(running.Database, "household", "statement", "H", "--through", "2026-09-19", "--pay", "30.00", "--format", "json")).Output);
        var node = JsonNode.Parse(told.Text)!;
        Assert.Equal(["C-1 21.60", "C-2 8.40"], node["shares"]!.AsArray().Select(share => $"{share!["contract"]} {share["amount"]}"));
        Assert.Equal(("0.00", "53.20"), ((string)node["opening"]!, (string)node["closing"]!));
        var table = (await Shell.ContractsAsync(running.Database, "household", "statement", "H", "--through", "2026-09-19", "--pay", "30.00", "--format", "table")).Output;
        Assert.Contains("C-2  8.40", table, StringComparison.Ordinal);
        Assert.Contains("vary by state", table, StringComparison.Ordinal);
        (await running.GetAsync("support", "/v1/households/H-9/statement")).IsProblem(404, "household-without-contract");
        (await running.GetAsync("support", "/v1/households/H/statement?from=2026-09-20&through=2026-09-19")).IsProblem(400, "date-invalid");
        (await running.GetAsync("support", "/v1/households/H/statement?pay=1.005")).IsProblem(400, "amount-invalid");
        (await running.GetAsync("support", "/v1/households/H/statement?through=2026-09-19&pay=500.00")).IsProblem(422, "household-payment-unclear");
        Assert.Equal(HttpStatusCode.Forbidden, (await running.GetAsync("developer", "/v1/households/H/statement")).Status);
        Assert.Contains(await running.Store.Readings.OfAsync("household:H"), read => (read.By, read.Route) == ("A support", "/v1/households/{household}/statement"));
        var early = JsonNode.Parse((await running.GetAsync("support", "/v1/households/H/statement?through=2026-09-19&known=2026-09-05")).Text)!;
        Assert.Equal(["C-1"], early["contracts"]!.AsArray().Select(one => (string)one!["contract"]!));
    }

    [Fact]
    public async Task The_page_shows_how_a_payment_is_dealt_out_before_it_is_taken()
    {
        await using var running = await ShopAsync();
        const string Page = "/household/H";
        Assert.DoesNotContain("Take money", (await running.GetAsync("support", Page)).Text, StringComparison.Ordinal);
        Assert.Contains("/household/H", (await running.GetAsync("support", "/account/C-1")).Text, StringComparison.Ordinal);
        var shown = await running.GetAsync("counter", $"{Page}?{PageForms.Query(("on", "2026-09-19"), ("amount", "30.00"), ("method", "check"), ("reference", "R-1"))}");
        Assert.Contains("Dealt out so; nothing is recorded yet", shown.Text, StringComparison.Ordinal);
        var hidden = PageForms.Hidden(shown.Text);
        Assert.Contains(hidden, field => field is { Key: "share.C-2", Value: "8.40" });
        Assert.Equal(["C-1 0.00", "C-2 0.00"], await PaidAsync(running));
        foreach (var _ in new[] { 1, 2 })
        {
            Assert.Equal(HttpStatusCode.Found, (await PageForms.PostAsync(running, "counter", Page, hidden)).Status);
        }

        Assert.Equal(["C-1 21.60", "C-2 8.40"], await PaidAsync(running));
        // Shares that do not add up are told before anything is asked to be recorded.
        var odd = await running.GetAsync("counter", $"{Page}?{PageForms.Query(("on", "2026-09-19"), ("amount", "30.00"), ("method", "cash"), ("share.C-1", "29.00"))}");
        Assert.Contains("The shares add up to 29.00", odd.Text, StringComparison.Ordinal);
        Assert.DoesNotContain("Dealt out so", odd.Text, StringComparison.Ordinal);
        var unclear = await running.GetAsync("counter", $"{Page}?{PageForms.Query(("on", "2026-09-19"), ("amount", "300.00"), ("method", "cash"))}");
        Assert.Contains("Not possible.", unclear.Text, StringComparison.Ordinal);
        Assert.Contains("say by shares", unclear.Text, StringComparison.Ordinal);
        Assert.Equal(HttpStatusCode.Forbidden, (await PageForms.PostAsync(running, "support", Page, hidden)).Status);
        // Whose accounts were looked at is said by the family.
        var reads = await running.Store.Readings.OfAsync("household:H");
        Assert.Contains(reads, read => (read.By, read.Route) == ("A counter", "/household/{household}"));
        Assert.Contains(reads, read => read.By == "A support");
        // Each look at the family is on record, those of the button too, whose refusal shows its accounts again.
        await Server.RunAsync(running.Store.Connection.Owner!, "revoke insert on access.readings from contracts_app");
        Assert.Equal(HttpStatusCode.ServiceUnavailable, (await PageForms.PostAsync(running, "counter", Page, hidden)).Status);
    }

    private static string Pay(string key, string amount, string shares = "") =>
        $$"""{"do":"pay-household","key":"{{key}}","at":"2026-09-19T12:00:00Z","household":"H","on":"2026-09-19","amount":"{{amount}}","method":"cash"{{(shares.Length > 0 ? $",\"shares\":[{shares}]" : "")}}}""";

    private static async Task<IReadOnlyList<string>> PaidAsync(RunningApi running)
    {
        var paid = new List<string>();
        foreach (var contract in new[] { "C-1", "C-2" })
        {
            var account = JsonNode.Parse((await running.GetAsync("support", $"/v1/accounts/{contract}?on=2026-09-20")).Text)!;
            paid.Add($"{contract} {account["paid"]!["total"]}");
        }

        return paid;
    }

    private async Task<RunningApi> ShopAsync()
    {
        var running = await RunningApi.StartAsync(server);
        await running.AppliedAsync(Lines.Tax);
        await running.AppliedAsync(Lines.Sign("C-1", "S-1"));
        await running.AppliedAsync(Lines.Sign("C-2", "S-2", at: "2026-09-08T12:00:00Z"));
        await running.AppliedAsync(Lines.Sign("C-3", "S-3", at: "2026-09-08T12:00:00Z").Replace("\"household\":\"H\"", "\"household\":\"H-2\"", StringComparison.Ordinal));
        return running;
    }
}
