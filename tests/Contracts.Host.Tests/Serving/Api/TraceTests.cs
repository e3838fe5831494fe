using System.Text.Json.Nodes;
using Contracts.Host.Tests.Support;
using Contracts.Store;
using Xunit;

namespace Contracts.Host.Tests.Serving.Api;

/// <summary>An event that came over HTTP says which request wrote it; the seal covers that like every header.</summary>
public sealed class TraceTests(Server server)
{
    private const string Trace = "4bf92f3577b34da6a3ce929d0e0e4736";
    private static readonly (string Name, string Value) Parent = ("traceparent", $"00-{Trace}-00f067aa0ba902b7-01");

    [Fact]
    public async Task The_events_of_a_request_carry_its_trace_id_and_those_of_no_request_carry_none()
    {
        await using var running = await RunningApi.StartAsync(server);
        await running.Store.Pipeline.ApplyAsync([.. new[] { Lines.Tax, Lines.Sign("C-1", "S-1") }.Select(line => Lines.Request(line))]);
        var paid = await running.SendAsync("counter", HttpMethod.Post, "/v1/commands", Lines.Pay("C-1", "p-1", "21.60", "2026-09-02T12:00:00Z"), Parent);
        Assert.True((int)paid.Status == 200, paid.Text);
        var history = await running.GetAsync("developer", "/v1/accounts/C-1/history");
        Assert.Equal([null, Trace], JsonNode.Parse(history.Text)!.AsArray().Select(one => (string?)one!["trace"]));
        Assert.Equal([null, Trace], JsonNode.Parse((await running.GetAsync("developer", "/v1/accounts/C-1/events")).Text)!.AsArray().Select(one => (string?)one!["trace"]));
        Assert.Equal((await Shell.ContractsAsync(running.Database, "history", "C-1", "--format", "json")).Output, history.Text);
        Assert.Single((await running.GetAsync("developer", "/account/C-1/replay")).Text.Split($"request {Trace}").Skip(1));

        // What takes two persons: the request that records the event is the one that approves it.
        await running.AppliedAsync("support", """{"do":"propose","key":"pr","at":"2026-09-03T12:00:00Z","proposal":"P-1","reason":"r","change":{"do":"hold","contract":"C-1","on":"2026-09-03"}}""");
        var approve = """{"do":"approve","key":"ap","at":"2026-09-04T12:00:00Z","proposal":"P-1"}""";
        var approved = await running.SendAsync("manager", HttpMethod.Post, "/v1/commands", approve, ("traceparent", $"00-{Trace.Replace('4', '5')}-00f067aa0ba902b7-01"));
        Assert.True((int)approved.Status == 200, approved.Text);
        Assert.Equal(Trace.Replace('4', '5'), (string?)JsonNode.Parse((await running.GetAsync("developer", "/v1/accounts/C-1/history")).Text)![2]!["trace"]);

        await running.Store.SealerWith(running.Signer).SealAsync(anchor: false, TestContext.Current.CancellationToken);
        Assert.Contains("\"ok\":true", (await running.GetAsync("auditor", "/v1/check")).Text, StringComparison.Ordinal);
        await Server.RunAsync(running.Store.Connection.Owner!, $"update contracts.mt_events set headers = jsonb_set(headers, '{{trace}}', '\"{new string('0', 32)}\"') where headers->>'trace' = '{Trace}'");
        Assert.Contains("event-altered", (await running.GetAsync("auditor", "/v1/check")).Text, StringComparison.Ordinal);
    }

    [Fact]
    public async Task What_a_caller_calls_a_trace_and_is_none_is_not_kept()
    {
        await using var running = await RunningApi.StartAsync(server);
        await running.Store.Pipeline.ApplyAsync([.. new[] { Lines.Tax, Lines.Sign("C-1", "S-1") }.Select(line => Lines.Request(line))]);
        await running.SendAsync("counter", HttpMethod.Post, "/v1/commands", Lines.Pay("C-1", "p-1", "21.60", "2026-09-02T12:00:00Z"), ("traceparent", "<script>"));
        var kept = (string?)JsonNode.Parse((await running.GetAsync("developer", "/v1/accounts/C-1/history")).Text)![1]!["trace"];
        Assert.Matches("^[0-9a-f]{32}$", kept ?? "none");
    }
}
