using System.Net;
using Contracts.Host.Tests.Serving.Api;
using Contracts.Host.Tests.Support;
using NodaTime;
using Wolverine.Tracking;
using Xunit;

namespace Contracts.Host.Tests.Serving;

/// <summary>The running host: the same handlers over HTTP and through the durable queue.</summary>
public sealed class HostTests(Server server)
{
    [Fact]
    public async Task A_command_over_http_is_applied_once_and_the_account_answers_with_two_dates()
    {
        await using var running = await RunningApi.StartAsync(server);
        await running.AppliedAsync(Lines.Tax);
        await running.AppliedAsync(Lines.Sign("C-1", "S-1"));
        var pay = Lines.Pay("C-1", "p", "21.60", "2026-09-20T12:00:00Z", on: "2026-09-02");
        await running.AppliedAsync(pay);
        Assert.Contains("already", (await running.PostAsync("counter", "/v1/commands", pay)).Text, StringComparison.Ordinal);
        var now = await running.GetAsync("support", "/v1/accounts/C-1?on=2026-09-10");
        var then = await running.GetAsync("support", "/v1/accounts/C-1?on=2026-09-10&known=2026-09-19T12:00:00Z");
        Assert.Contains("\"equity\":\"20.00\"", now.Text, StringComparison.Ordinal);
        Assert.Contains("\"pastDue\":\"26.60\"", then.Text, StringComparison.Ordinal);
    }

    [Fact]
    public async Task A_refusal_over_http_is_a_problem_with_its_status()
    {
        await using var running = await RunningApi.StartAsync(server);
        (await running.PostAsync("counter", "/v1/commands", Lines.Pay("C-9", "p", "1.00", "2026-09-02T12:00:00Z"))).IsProblem(404, "contract-unknown");
        (await running.PostAsync("counter", "/v1/commands", "{")).IsProblem(400, "malformed-line");
        (await running.PostAsync("counter", "/v1/commands", new string(' ', 70_000))).IsProblem(400, "line-too-long");
        (await running.GetAsync("counter", "/v1/accounts/C-9?on=2026-02-30")).IsProblem(400, "date-invalid");
    }

    [Fact]
    public async Task A_command_in_the_durable_queue_is_applied_by_the_same_rules_and_in_the_name_of_who_sent_it()
    {
        await using var running = await RunningApi.StartAsync(server);
        await running.AppliedAsync(Lines.Tax);
        await running.AppliedAsync(Lines.Sign("C-1", "S-1"));
        var line = Lines.Pay("C-1", "q", "21.60", "2026-09-20T12:00:00Z");
        await running.Alba.ExecuteAndWaitAsync(async () =>
            Assert.Equal(HttpStatusCode.Accepted, (await running.PostAsync("counter", "/v1/commands/queue", line)).Status));
        var last = (await running.Store.Reader.HistoryAsync("C-1", Instant.MaxValue))!.Entries[^1];
        Assert.Equal(("q", "A counter"), (last.Key, last.Actor));
    }

    [Fact]
    public async Task The_host_says_that_it_lives_and_is_ready_and_how_much_waits_for_a_seal()
    {
        await using var running = await RunningApi.StartAsync(server);
        Assert.Equal("live", (await running.GetAsync(null, "/health/live")).Text);
        Assert.Equal("{\"status\":\"ready\",\"unsealed\":0}\n", (await running.GetAsync(null, "/health/ready")).Text);
        await running.AppliedAsync(Lines.Tax);
        Assert.Equal("{\"status\":\"ready\",\"unsealed\":1}\n", (await running.GetAsync(null, "/health/ready")).Text);
    }
}
