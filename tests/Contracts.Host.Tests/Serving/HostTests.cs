using Alba;
using Contracts.Host.Serving;
using Contracts.Host.Tests.Support;
using Contracts.Store;
using NodaTime;
using Npgsql;
using Wolverine.Tracking;
using Xunit;

namespace Contracts.Host.Tests.Serving;

/// <summary>The running host: the same handlers over HTTP and through the durable queue.</summary>
public sealed class HostTests(Server server)
{
    [Fact]
    public async Task A_command_over_http_is_applied_once_and_the_account_answers_with_two_dates()
    {
        await using var running = await RunningAsync();
        await PostAsync(running.Alba, Lines.Tax);
        await PostAsync(running.Alba, Lines.Sign("C-1", "S-1"));
        Assert.Contains("applied", await PostAsync(running.Alba, Lines.Pay("C-1", "p", "21.60", "2026-09-20T12:00:00Z", on: "2026-09-02")), StringComparison.Ordinal);
        Assert.Contains("already", await PostAsync(running.Alba, Lines.Pay("C-1", "p", "21.60", "2026-09-20T12:00:00Z", on: "2026-09-02")), StringComparison.Ordinal);
        var now = await running.Alba.GetAsText("/accounts/C-1?on=2026-09-10");
        var then = await running.Alba.GetAsText("/accounts/C-1?on=2026-09-10&known=2026-09-19T12:00:00Z");
        Assert.Contains("\"equity\":\"20.00\"", now, StringComparison.Ordinal);
        Assert.Contains("\"pastDue\":\"26.60\"", then, StringComparison.Ordinal);
    }

    [Fact]
    public async Task A_refusal_over_http_is_a_problem_with_its_status()
    {
        await using var running = await RunningAsync();
        await RefusedAsync(running.Alba, Lines.Pay("C-9", "p", "1.00", "2026-09-02T12:00:00Z"), 404, "contract-unknown");
        await RefusedAsync(running.Alba, "{", 400, "malformed-line");
        await RefusedAsync(running.Alba, new string(' ', 70_000), 400, "line-too-long");
        await running.Alba.Scenario(get =>
        {
            get.Get.Url("/accounts/C-9?on=2026-02-30");
            get.StatusCodeShouldBe(400);
        });
    }

    [Fact]
    public async Task A_command_in_the_durable_queue_is_applied_by_the_same_rules()
    {
        await using var running = await RunningAsync();
        await PostAsync(running.Alba, Lines.Tax);
        await PostAsync(running.Alba, Lines.Sign("C-1", "S-1"));
        var line = Lines.Pay("C-1", "q", "21.60", "2026-09-20T12:00:00Z");
        await running.Alba.ExecuteAndWaitAsync(async () =>
        {
            await running.Alba.Scenario(post =>
            {
                post.Post.Text(line).ToUrl("/commands/queue");
                post.StatusCodeShouldBe(202);
            });
        });
        var history = await running.Store.Reader.HistoryAsync("C-1", Instant.MaxValue);
        Assert.Equal("q", history!.Entries[^1].Key);
    }

    [Fact]
    public async Task The_host_says_that_it_lives_and_is_ready()
    {
        await using var running = await RunningAsync();
        Assert.Equal("live", await running.Alba.GetAsText("/health/live"));
        Assert.Equal("ready", await running.Alba.GetAsText("/health/ready"));
    }

    private async Task<Running> RunningAsync()
    {
        // As the role of everyday work, which makes no table of the queues.
        var connection = await server.NewGuardedAsync();
        var store = await ContractsStore.OpenAsync(connection, new StoreSettings(Server.Zone, true));
        await MessageTables.EnsureAsync(store.Connection, CancellationToken.None);
        var alba = await AlbaHost.For(ContractsHost.Builder(store, store.Connection.Everyday), ContractsHost.Map);
        return new Running(store, alba);
    }

    private static async Task<string> PostAsync(IAlbaHost alba, string line)
    {
        var answer = await alba.Scenario(post => post.Post.Text(line).ToUrl("/commands"));
        return await answer.ReadAsTextAsync();
    }

    private static async Task RefusedAsync(IAlbaHost alba, string line, int status, string code)
    {
        var answer = await alba.Scenario(post =>
        {
            post.Post.Text(line).ToUrl("/commands");
            post.StatusCodeShouldBe(status);
            post.ContentTypeShouldBe("application/problem+json");
        });
        Assert.Contains($"\"code\":\"{code}\"", await answer.ReadAsTextAsync(), StringComparison.Ordinal);
    }

    private sealed record Running(ContractsStore Store, IAlbaHost Alba) : IAsyncDisposable
    {
        public async ValueTask DisposeAsync()
        {
            await Alba.DisposeAsync();
            await Store.DisposeAsync();
            NpgsqlConnection.ClearAllPools();
        }
    }
}
