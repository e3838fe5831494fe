using Contracts.Host.Tests.Support;
using Contracts.Store;
using Contracts.Store.Setup;
using NodaTime;
using Npgsql;
using Xunit;

namespace Contracts.Host.Tests.Storing;

/// <summary>A contract asked for with the present moment and the rates by one round trip: the answers of the three questions it stands for.</summary>
public sealed class OneContractTests(Server server)
{
    private static CancellationToken Stop => TestContext.Current.CancellationToken;

    [Fact]
    public async Task One_round_trip_answers_what_three_do_at_every_moment()
    {
        await using var store = await server.NewStoreAsync();
        await store.ApplyAsync(
            Lines.Tax, Lines.Sign("C-1", "S-1"), Lines.Sign("C-2", "S-2"), Lines.Pay("C-1", "p-1", "5.00", "2026-09-02T12:00:00Z"),
            """{"do":"set-tax","key":"tax-2","at":"2026-09-03T12:00:00Z","jurisdiction":"J","rate":"0.09","from":"2026-09-01","taxes":{"rent":true,"plan":false,"fees":false,"sale":true}}""",
            Lines.Pay("C-1", "p-2", "6.00", "2026-09-04T12:00:00Z"));
        var moments = new Instant?[]
        {
            null, Instant.FromUtc(2026, 8, 1, 11, 0), Instant.FromUtc(2026, 9, 1, 12, 0), Instant.FromUtc(2026, 9, 2, 12, 0).PlusNanoseconds(-1),
            Instant.FromUtc(2026, 9, 3, 12, 0), Instant.FromUtc(2030, 1, 1, 0, 0),
        };
        foreach (var known in moments)
        {
            foreach (var contract in new[] { "C-1", "C-9", "tax:J" })
            {
                var now = await store.Reader.NowAsync(Stop);
                var one = await store.Reader.OneAsync(contract, known, Stop);
                Assert.Equal((now, known ?? now), (one.Now, one.Known));
                Assert.Equal((await store.Reader.HistoryAsync(contract, known ?? now, Stop))?.Entries ?? [], one.History?.Entries ?? []);
                var rates = await store.Reader.RatesAsync(known ?? now, Stop);
                Assert.Equal(rates.Of("J"), one.Rates.Of("J"));
            }
        }
    }

    [Fact]
    public async Task It_waits_for_a_transaction_under_way_as_the_question_for_the_present_moment_does()
    {
        await using var store = await server.NewStoreAsync();
        await store.ApplyAsync(Lines.Tax, Lines.Sign("C-1", "S-1"));
        await using var source = NpgsqlDataSource.Create(store.Connection.Everyday);
        await using var writer = await source.OpenConnectionAsync(Stop);
        await using var under = await writer.BeginTransactionAsync(Stop);
        await RunAsync(writer, $"select pg_advisory_xact_lock({StoreSchema.WriterLock})");
        await using var looker = await source.OpenConnectionAsync(Stop);
        var asked = store.Reader.OneAsync("C-1", Instant.FromUtc(2026, 9, 1, 12, 0), Stop);
        while (!asked.IsCompleted && await RunAsync(looker, "select exists (select from pg_locks where locktype = 'advisory' and not granted and database = (select oid from pg_database where datname = current_database()))") is false) { }
        Assert.False(asked.IsCompleted);
        await under.CommitAsync(Stop);
        Assert.Equal("C-1", (await asked).History?.Contract);
    }

    private static async Task<object?> RunAsync(NpgsqlConnection connection, string sql)
    {
        await using var command = new NpgsqlCommand(sql, connection);
        return await command.ExecuteScalarAsync(Stop);
    }
}
