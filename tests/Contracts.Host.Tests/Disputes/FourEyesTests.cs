using System.Net;
using System.Text.Json.Nodes;
using Contracts.Agreements;
using Contracts.Host.Serving.SignIn;
using Contracts.Host.Tests.Serving.Api;
using Contracts.Host.Tests.Support;
using NodaTime;
using Xunit;

namespace Contracts.Host.Tests.Disputes;

/// <summary>What one person alone may not do: on the database, over the API and on the command line.</summary>
public sealed class FourEyesTests(Server server)
{
    private const string At = "2026-09-20T12:00:00Z";
    private static readonly string Signed = Lines.Sign("C-1", "S-1");
    private int number;

    [Theory]
    [InlineData("""{"do":"credit","contract":"C-1","on":"2026-09-20","amount":"50.01","reason":"r"}""")]
    [InlineData("""{"do":"refund","contract":"C-1","on":"2026-09-20","amount":"50.01"}""")]
    [InlineData("""{"do":"write-off","contract":"C-1","on":"2026-09-20","amount":"0.01"}""")]
    [InlineData("""{"do":"reverse-payment","contract":"C-1","on":"2026-09-20","payment":"p-1","code":"entry-error","reason":"r"}""")]
    [InlineData("""{"do":"close","month":"2026-08"}""")]
    public async Task It_takes_a_second_person(string change)
    {
        await using var running = await StartAsync();
        var role = change.Contains("close", StringComparison.Ordinal) ? "finance" : "manager";
        (await running.PostAsync(role, "/v1/commands", Keyed(change))).IsProblem(403, "second-person-needed");
        // What waits in the queue passes no other door.
        Assert.NotEqual(HttpStatusCode.Accepted, (await running.PostAsync(role, "/v1/commands/queue", Keyed(change))).Status);
    }

    [Theory]
    [InlineData("""{"do":"credit","contract":"C-1","on":"2026-09-20","amount":"50.00","reason":"r"}""")]
    [InlineData("""{"do":"reverse-payment","contract":"C-1","on":"2026-09-20","payment":"p-1","code":"R01","reason":"r"}""")]
    public async Task Up_to_the_limit_and_what_the_bank_said_it_takes_one(string command)
    {
        await using var running = await StartAsync();
        await running.AppliedAsync(Keyed(command));
    }

    [Theory]
    [InlineData("counter", "0.01", null, "0.00")]
    [InlineData("support", "10.01", "10.00", "10.00")]
    [InlineData("manager", "50.01", "50.00", "50.00")]
    public async Task Each_role_gives_goodwill_up_to_a_limit_of_its_own(string role, string above, string? upTo, string left)
    {
        await using var running = await StartAsync();
        var refused = await running.PostAsync(role, "/v1/commands", Keyed(Credit(above)));
        refused.IsProblem(403, "second-person-needed");
        Assert.Equal(left, (string?)JsonNode.Parse(refused.Text)!["rightFigure"]);
        if (upTo is not null) { await running.AppliedAsync(role, Keyed(Credit(upTo))); }
    }

    [Fact]
    public async Task In_parts_it_is_as_much_as_at_once_whoever_gives_it_and_one_that_is_sent_again_counts_once()
    {
        await using var running = await StartAsync();
        var (first, second) = (Keyed(Credit("4.00")), Keyed(Credit("6.00")));
        await running.AppliedAsync("support", first);
        await running.AppliedAsync("support", second);
        Assert.Contains("\"already\"", (await running.PostAsync("support", "/v1/commands", second)).Text, StringComparison.Ordinal);
        var refused = await running.PostAsync("support", "/v1/commands", Keyed(Credit("0.01")));
        refused.IsProblem(403, "second-person-needed");
        Assert.Equal("0.00", (string?)JsonNode.Parse(refused.Text)!["rightFigure"]);
        var manager = await running.PostAsync("manager", "/v1/commands", Keyed(Credit("40.01")));
        manager.IsProblem(403, "second-person-needed");
        Assert.Equal("40.00", (string?)JsonNode.Parse(manager.Text)!["rightFigure"]);
        // What two persons gave is no part of what one may.
        await running.AppliedAsync("support", Propose("P-1", Credit("80.00")));
        await running.AppliedAsync("manager", Approve("P-1"));
        await running.AppliedAsync("manager", Keyed(Credit("40.00")));
        // After thirty days they begin again.
        await running.AppliedAsync(Lines.Pay("C-1", "p-2", "1.00", "2026-10-20T12:00:01Z"));
        await running.AppliedAsync("support", Keyed(Credit("10.00"), "2026-10-20T12:00:01Z"));
    }

    [Fact]
    public void Limits_are_given_by_role()
    {
        Assert.Equal(new GivingLimits(new Money(500), new Money(1000), new Money(0)), GivingLimits.Usual.With("counter=5.00")!.With("manager=0.00"));
        Assert.All(["50.00", "owner=5.00", "support=x", "support=-5.00", ""], text => Assert.Null(GivingLimits.Usual.With(text)));
        Assert.Equal(Money.Zero, GivingLimits.Usual.For(Roles.Finance));
    }

    [Fact]
    public async Task A_waiver_is_measured_by_its_fee()
    {
        await using var running = await StartAsync(limit: 499);
        var waive = """{"do":"waive","contract":"C-1","on":"2026-11-20","fee":"FEE","reason":"r"}""";
        var account = JsonNode.Parse((await running.GetAsync("manager", "/v1/accounts/C-1?on=2026-11-20")).Text)!;
        var fee = account["openItems"]!.AsArray().First(item => ((string)item!["id"]!).StartsWith("late:", StringComparison.Ordinal))!;
        Assert.Equal("5.00", (string?)fee["charged"]);
        waive = Keyed(waive.Replace("FEE", (string)fee["id"]!, StringComparison.Ordinal), "2026-11-20T12:00:00Z");
        (await running.PostAsync("manager", "/v1/commands", waive)).IsProblem(403, "second-person-needed");
    }

    [Fact]
    public async Task One_proposes_another_approves_and_the_history_names_both_in_one_transaction()
    {
        await using var running = await StartAsync();
        await running.AppliedAsync("support", Propose("P-1", """{"do":"credit","contract":"C-1","on":"2026-09-20","amount":"80.00"}"""));
        // Support may not approve at all, and whoever proposed it may not either.
        (await running.PostAsync("support", "/v1/commands", Approve("P-1"))).IsProblem(403, "role-forbids");
        (await running.PostAsync("finance", "/v1/commands", Approve("P-1"))).IsProblem(403, "role-forbids");
        await running.AppliedAsync("manager", Approve("P-1"));
        var history = (await running.Store.Reader.HistoryAsync("C-1", Instant.MaxValue))!;
        var last = history.Entries[^1];
        Assert.Equal((typeof(ContractEvent.CreditGiven), "A support", "A manager"), (last.Event.GetType(), last.Actor, last.Approved));
        var told = JsonNode.Parse((await running.GetAsync("auditor", "/v1/accounts/C-1/history")).Text)!.AsArray()[^1]!;
        Assert.Equal(("A support", "A manager"), ((string?)told["by"], (string?)told["approvedBy"]));
        (await running.PostAsync("manager", "/v1/commands", Approve("P-1"))).IsProblem(409, "proposal-settled");
        // What was carried out has a key of its own: a line that takes it later is told that this happened.
        var again = await running.PostAsync("manager", "/v1/commands", $$"""{"do":"credit","key":"proposal:P-1","at":"{{At}}","contract":"C-1","on":"2026-09-20","amount":"1.00","reason":"r"}""");
        Assert.Contains("\"already\"", again.Text, StringComparison.Ordinal);
        var listed = JsonNode.Parse((await running.GetAsync("auditor", "/v1/proposals")).Text)!.AsArray().Single()!;
        Assert.Equal(("approved", "A support", "A manager"), ((string?)listed["status"], (string?)listed["by"], (string?)listed["decidedBy"]));
        Assert.Equal("[]\n", (await running.GetAsync("auditor", "/v1/proposals?status=open")).Text);
        Assert.Equal("[]\n", (await running.GetAsync("auditor", "/v1/proposals?known=2026-09-19")).Text);
    }

    [Fact]
    public async Task A_manager_does_not_approve_what_they_proposed_nor_in_another_name()
    {
        await using var running = await StartAsync();
        await running.AppliedAsync("manager", Propose("P-1", """{"do":"hold","contract":"C-1","on":"2026-09-20"}"""));
        (await running.PostAsync("manager", "/v1/commands", Approve("P-1"))).IsProblem(403, "second-person-needed");
        (await running.PostAsync("manager", "/v1/commands", Approve("P-1").Replace("\"do\"", "\"by\":\"Somebody\",\"do\"", StringComparison.Ordinal))).IsProblem(400, "field-invalid");
    }

    [Fact]
    public async Task An_approval_rests_on_what_was_looked_at()
    {
        await using var running = await StartAsync();
        await running.AppliedAsync("support", Propose("P-1", """{"do":"hold","contract":"C-1","on":"2026-09-20"}"""));
        var tag = (await running.GetAsync("manager", "/v1/accounts/C-1")).Headers["ETag"];
        await running.AppliedAsync(Lines.Pay("C-1", "p-2", "1.00", At));
        (await running.PostAsync("manager", "/v1/commands", Approve("P-1"), ("If-Match", tag))).IsProblem(412, "contract-moved");
        tag = (await running.GetAsync("manager", "/v1/accounts/C-1")).Headers["ETag"];
        Assert.Equal(HttpStatusCode.OK, (await running.PostAsync("manager", "/v1/commands", Approve("P-1"), ("If-Match", tag))).Status);
    }

    [Fact]
    public async Task A_close_is_proposed_approved_and_then_done()
    {
        await using var running = await StartAsync();
        await running.AppliedAsync("finance", Propose("P-1", """{"do":"close","month":"2026-09"}""", "2026-10-02T12:00:00Z"));
        Assert.Empty(await running.Store.MonthClose.ClosedAsync());
        await running.AppliedAsync("manager", Approve("P-1", "2026-10-02T12:00:00Z"));
        var closed = Assert.Single(await running.Store.MonthClose.ClosedAsync());
        Assert.Equal(new YearMonth(2026, 9), closed.Month);
    }

    [Fact]
    public async Task Fifty_approvals_at_once_are_one_change()
    {
        await using var running = await StartAsync();
        await running.AppliedAsync("support", Propose("P-1", """{"do":"credit","contract":"C-1","on":"2026-09-20","amount":"80.00"}"""));
        var before = (await running.Store.Reader.HistoryAsync("C-1", Instant.MaxValue))!.Entries.Length;
        var answers = await Task.WhenAll(Enumerable.Range(0, 50).Select(_ => running.PostAsync("manager", "/v1/commands", Approve("P-1"))));
        Assert.Single(answers, answer => answer.Status == HttpStatusCode.OK);
        Assert.All(answers.Where(answer => answer.Status != HttpStatusCode.OK), answer => answer.IsProblem(409, "proposal-settled"));
        Assert.Equal(before + 1, (await running.Store.Reader.HistoryAsync("C-1", Instant.MaxValue))!.Entries.Length);
    }

    [Fact]
    public async Task A_line_that_took_the_key_of_what_was_proposed_does_not_hold_the_store_up()
    {
        await using var running = await StartAsync();
        await running.AppliedAsync("support", Propose("P-1", """{"do":"hold","contract":"C-1","on":"2026-09-20"}"""));
        await running.AppliedAsync($$"""{"do":"credit","key":"proposal:P-1","at":"{{At}}","contract":"C-1","on":"2026-09-20","amount":"1.00","reason":"r"}""");
        (await running.PostAsync("manager", "/v1/commands", Approve("P-1"))).IsProblem(409, "proposal-settled");
        await running.AppliedAsync(Keyed("""{"do":"decline","proposal":"P-1","reason":"its key was taken"}"""));
    }

    [Fact]
    public async Task The_command_line_lists_the_same_and_a_dossier_carries_the_proposal()
    {
        await using var running = await StartAsync();
        await running.AppliedAsync("support", Propose("P-1", """{"do":"credit","contract":"C-1","on":"2026-09-20","amount":"80.00"}"""));
        await running.AppliedAsync("manager", Approve("P-1"));
        var told = await Shell.ContractsAsync(running.Database, "proposals", "--format", "json");
        Assert.Equal((await running.GetAsync("auditor", "/v1/proposals")).Text, told.Output);
        Assert.Contains("approved by A manager", (await Shell.ContractsAsync(running.Database, "proposals", "--format", "table")).Output.ReplaceLineEndings(" "), StringComparison.Ordinal);
        Assert.Equal(2, (await Shell.ContractsAsync(running.Database, "proposals", "--format", "csv")).Output.Split('\n', StringSplitOptions.RemoveEmptyEntries).Length);
        Assert.Equal("[]\n", (await Shell.ContractsAsync(running.Database, "proposals", "--open", "--format", "json")).Output);
        var dossier = await running.SendAsync("auditor", HttpMethod.Post, "/v1/accounts/C-1/dossier");
        Assert.Equal(HttpStatusCode.OK, dossier.Status);
        var file = Path.Combine(Directory.CreateTempSubdirectory("proposal-dossier-").FullName, "c.zip");
        await File.WriteAllBytesAsync(file, dossier.Bytes, TestContext.Current.CancellationToken);
        Assert.Equal(0, (await Shell.ContractsAsync(running.Database, "verify", file)).Exit);
        using var zip = System.IO.Compression.ZipFile.OpenRead(file);
        Assert.Contains(zip.Entries, entry => new StreamReader(entry.Open()).ReadToEnd().Contains("change_approved", StringComparison.Ordinal));
    }

    private async Task<RunningApi> StartAsync(long? limit = null)
    {
        var running = await RunningApi.StartAsync(server, limit is { } cents
            ? new Contracts.Host.Serving.Api.ApiSettings { Burst = 1_000_000, RequestsPerSecond = 1_000_000, Giving = GivingLimits.Usual with { Manager = new Money(cents) } } : null);
        await running.AppliedAsync(Lines.Tax);
        await running.AppliedAsync(Signed);
        await running.AppliedAsync(Lines.Pay("C-1", "p-1", "21.60", At));
        return running;
    }

    private static string Credit(string amount) => $$"""{"do":"credit","contract":"C-1","on":"2026-09-20","amount":"{{amount}}","reason":"r"}""";

    private string Keyed(string command, string at = At) => command.Insert(1, $"\"key\":\"k{++number}\",\"at\":\"{at}\",");

    private string Propose(string id, string change, string at = At) =>
        Keyed($$"""{"do":"propose","proposal":"{{id}}","reason":"a promise","change":{{change}}}""", at);

    private string Approve(string id, string at = At) => Keyed($$"""{"do":"approve","proposal":"{{id}}"}""", at);
}
