using System.Net;
using Contracts.Host.Tests.Support;
using NodaTime;
using Xunit;

namespace Contracts.Host.Tests.Serving.Api;

/// <summary>What a command would do: the same bytes on the command line, nothing recorded but who looked.</summary>
public sealed class PreviewTests(Server server)
{
    private const string Path = "/v1/commands/preview";
    private const string Pay = """{"do":"pay","contract":"C-1","on":"2026-09-24","amount":"21.60","method":"cash"}""";

    [Fact]
    public async Task It_shows_events_and_figures_and_records_nothing()
    {
        await using var running = await StartAsync();
        var before = await EventsAsync(running);
        var answer = await running.PostAsync("developer", Path, Pay);
        Assert.True(answer.Status == HttpStatusCode.OK, answer.Text);
        Assert.Contains("\"events\":[{\"on\":\"2026-09-24\",\"event\":\"payment_received\",\"says\":\"payment received by cash\",\"money\":\"21.60\"}]", answer.Text, StringComparison.Ordinal);
        Assert.Contains("{\"figure\":\"paid.total\",\"before\":\"0.00\",\"after\":\"21.60\"}", answer.Text, StringComparison.Ordinal);
        Assert.Equal(answer.Text, (await Shell.ContractsReadingAsync(running.Database, Pay, "preview", "-", "--format", "json")).Output);
        Assert.Equal(before, await EventsAsync(running));
        // The very line, sent, does what was shown.
        await running.AppliedAsync(Pay.Replace("\"do\":\"pay\"", "\"do\":\"pay\",\"key\":\"p-1\",\"at\":\"2026-09-24T13:00:00Z\"", StringComparison.Ordinal));
        Assert.Contains("\"total\":\"21.60\"", (await running.GetAsync("support", "/v1/accounts/C-1?on=2026-09-24")).Text, StringComparison.Ordinal);
    }

    [Fact]
    public async Task It_is_decided_on_what_was_known_at_the_moment_asked_about()
    {
        await using var running = await StartAsync();
        await running.AppliedAsync("""{"do":"return","key":"r-1","at":"2026-09-24T12:00:00Z","contract":"C-1","on":"2026-09-24"}""");
        const string again = """{"do":"return","contract":"C-1","on":"2026-09-24"}""";
        Assert.NotEqual(HttpStatusCode.OK, (await running.PostAsync("support", Path, again)).Status);
        Assert.Equal(HttpStatusCode.OK, (await running.PostAsync("support", $"{Path}?known=2026-09-24T11:59:59Z", again)).Status);
        (await running.PostAsync("support", $"{Path}?known=2020-01-01", again)).IsProblem(404, "contract-unknown");
    }

    [Fact]
    public async Task A_refusal_is_the_one_that_the_command_would_meet_and_nothing_but_a_deed_on_a_contract_is_looked_at()
    {
        await using var running = await StartAsync();
        const string buy = """{"do":"buy","key":"b-1","at":"2026-09-24T12:00:00Z","contract":"C-1","on":"2026-09-24","amount":"1.00","method":"cash"}""";
        var shown = (await running.PostAsync("support", Path, buy)).IsProblem(422, "purchase-amount-wrong");
        Assert.Equal((await running.PostAsync("manager", "/v1/commands", buy)).Text, shown.Text);
        (await running.PostAsync("support", Path, Lines.Sign("C-2", "S-2"))).IsProblem(400, "field-invalid");
        (await running.PostAsync("support", Path, """{"do":"issue","contract":"C-1","on":"2026-09-24","kind":"statement"}""")).IsProblem(400, "field-invalid");
        (await running.PostAsync("support", Path, Lines.Tax)).IsProblem(400, "field-invalid");
        (await running.PostAsync("support", Path, "[]")).IsProblem(400, "malformed-line");
    }

    [Fact]
    public async Task Who_looked_is_written_down_with_the_contract_or_nothing_is_answered()
    {
        await using var running = await StartAsync();
        await running.PostAsync("developer", Path, Pay, ("X-Purpose", "a refusal of today"));
        var read = Assert.Single(await running.Store.Readings.OfAsync("C-1"));
        Assert.Equal(("A developer", "developer", Path, "a refusal of today"), (read.By, read.Role, read.Route, read.Purpose));
        (await running.PostAsync("developer", $"{Path}?purpose={new string('x', 201)}", Pay)).IsProblem(400, "field-invalid");
        await Server.RunAsync(running.Store.Connection.Owner!, "revoke insert on access.readings from contracts_app");
        (await running.PostAsync("developer", Path, Pay)).IsProblem(503, "read-not-recorded");
    }

    private async Task<RunningApi> StartAsync()
    {
        var running = await RunningApi.StartAsync(server);
        await running.AppliedAsync(Lines.Tax);
        await running.AppliedAsync(Lines.Sign("C-1", "S-1"));
        return running;
    }

    private static async Task<int> EventsAsync(RunningApi running) => (await running.Store.Reader.HistoryAsync("C-1", Instant.MaxValue))!.Entries.Length;
}
