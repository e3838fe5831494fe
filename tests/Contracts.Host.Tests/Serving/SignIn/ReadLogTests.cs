using Contracts.Host.Tests.Support;
using Contracts.Store;
using Npgsql;
using Xunit;

namespace Contracts.Host.Tests.Serving.SignIn;

/// <summary>Reads that are written down together: each is there before it is answered, and one that cannot be keeps no other from being.</summary>
public sealed class ReadLogTests(Server server)
{
    [Fact]
    public async Task Reads_at_the_same_time_are_all_there_when_they_are_answered_and_in_the_order_in_which_they_came()
    {
        await using var store = await OpenAsync();
        const int readers = 600;
        var answers = Enumerable.Range(0, readers).Select(number => store.Readings.AddAsync($"reader {number}", "auditor", "/v1/accounts/{contract}", "C-1", "a test")).ToList();
        // Whichever is answered first is on the disk by then.
        await await Task.WhenAny(answers);
        Assert.NotEmpty(await store.Readings.OfAsync("C-1", TestContext.Current.CancellationToken));
        await Task.WhenAll(answers);
        Assert.Equal(Enumerable.Range(0, readers).Select(number => $"reader {number}"), (await store.Readings.OfAsync("C-1", TestContext.Current.CancellationToken)).Select(one => one.By));
        Assert.Empty(await store.Readings.OfAsync("C-2", TestContext.Current.CancellationToken));
    }

    [Fact]
    public async Task Several_go_in_one_insert()
    {
        await using var store = await OpenAsync();
        await Task.WhenAll(Enumerable.Range(0, 100).Select(number => store.Readings.AddAsync($"reader {number}", "auditor", "/", "C-1", "a test")));
        // Lines of one insert share a transaction, which the database keeps with each row.
        await using var source = NpgsqlDataSource.Create(store.Connection.Owner!);
        await using var command = source.CreateCommand("select count(distinct xmin::text) from access.readings");
        Assert.InRange((long)(await command.ExecuteScalarAsync(TestContext.Current.CancellationToken))!, 1, 20);
    }

    [Fact]
    public async Task One_that_cannot_be_written_fails_alone()
    {
        await using var store = await OpenAsync();
        // No text of PostgreSQL holds a zero byte.
        var answers = Enumerable.Range(0, 50).Select(number => store.Readings.AddAsync(number == 20 ? "reader \0" : $"reader {number}", "auditor", "/", "C-1", "a test")).ToList();
        var failed = 0;
        foreach (var answer in answers)
        {
            try { await answer; }
            catch (PostgresException) { failed++; }
        }

        Assert.Equal(1, failed);
        Assert.Equal(49, (await store.Readings.OfAsync("C-1", TestContext.Current.CancellationToken)).Count);
    }

    [Fact]
    public async Task Where_nothing_can_be_written_everybody_is_told()
    {
        await using var store = await OpenAsync();
        await Server.RunAsync(store.Connection.Owner!, "alter table access.readings rename to elsewhere");
        await Assert.ThrowsAsync<PostgresException>(() => store.Readings.AddAsync("reader", "auditor", "/", null, "a test"));
        await Server.RunAsync(store.Connection.Owner!, "alter table access.elsewhere rename to readings");
        await store.Readings.AddAsync("reader", "auditor", "/", "C-1", "a test");
        Assert.Single(await store.Readings.OfAsync("C-1", TestContext.Current.CancellationToken));
    }

    private async Task<ContractsStore> OpenAsync() => await ContractsStore.OpenAsync(await server.NewGuardedAsync(), new StoreSettings(Server.Zone, true));
}
