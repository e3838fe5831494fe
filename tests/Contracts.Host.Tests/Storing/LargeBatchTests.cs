using Contracts.Host.Tests.Support;
using Contracts.Store;
using NodaTime;
using Npgsql;
using Xunit;

namespace Contracts.Host.Tests.Storing;

/// <summary>Large batches go into the tables by another way than small ones; what is in the tables then is the same.</summary>
public sealed class LargeBatchTests(Server server)
{
    private const int Contracts = 30;

    // The second of the large batches begins on a day on which the first has recorded, and goes on to days that nobody has.
    private const int FirstBatch = 1250;

    [Fact]
    public async Task A_large_batch_writes_the_same_rows_as_its_lines_a_few_at_a_time()
    {
        string[] lines =
        [
            Lines.Tax, .. Enumerable.Range(0, Contracts).Select(number => Lines.Sign($"C-{number}", $"S-{number}").Replace("\"H\"", "\"Hé \\\"7\\\" \\\\ 河\"", StringComparison.Ordinal)),
            .. Enumerable.Range(0, 2200).Select(number => Pay(number)),
        ];
        var (few, many) = (await server.NewDatabaseAsync(), await server.NewDatabaseAsync());
        await using (var store = await ContractsStore.OpenAsync(few, new StoreSettings(Server.Zone, true)))
        {
            foreach (var part in lines.Chunk(20)) { Assert.All(await store.ApplyAsync(part), answer => Assert.IsType<CommandResult.Applied>(answer)); }
        }

        await using (var store = await ContractsStore.OpenAsync(many, new StoreSettings(Server.Zone, true)))
        {
            foreach (var part in new[] { lines[..FirstBatch], lines[FirstBatch..] })
            {
                Assert.All(await store.ApplyAsync(part), answer => Assert.IsType<CommandResult.Applied>(answer));
            }

            Assert.NotEmpty(await store.Marten.QuerySession().Events.FetchStreamAsync("C-1"));
            Assert.Empty((await store.BookAudit.RunAsync(await store.Reader.NowAsync())).Differences);
        }

        foreach (var (table, rows) in Tables)
        {
            var wanted = await TextAsync(few, rows);
            Assert.False(string.IsNullOrEmpty(wanted), table);
            Assert.True(wanted == await TextAsync(many, rows), $"{table} is not the same.");
        }
    }

    [Fact]
    public async Task A_store_whose_cube_has_both_sides_of_what_is_earned_by_day_keeps_one()
    {
        var database = await server.NewDatabaseAsync();
        List<string> before;
        await using (var store = await ContractsStore.OpenAsync(database, new StoreSettings(Server.Zone, true)))
        {
            await store.ApplyAsync([Lines.Tax, Lines.Sign("C-1", "S-1").Replace("\"planElected\":false", "\"planElected\":true", StringComparison.Ordinal)
                .Replace("\"monthlyRent\"", "\"plan\":{\"monthly\":\"4.00\",\"chargedInIntroductory\":false},\"monthlyRent\"", StringComparison.Ordinal)]);
            var bill = new Agreements.Command.Bill(new LocalDate(2026, 12, 31)) { Origin = new Agreements.CommandOrigin("bill", null, null) };
            Assert.IsType<CommandResult.Applied>(await store.Pipeline.BillAsync(bill, Instant.FromUtc(2027, 1, 1, 3, 0)));
            before = await TotalsAsync(store);
        }

        Assert.Contains(before, line => line.StartsWith("RentalRevenue Released", StringComparison.Ordinal));
        Assert.Contains(before, line => line.StartsWith("PlanRevenue Released", StringComparison.Ordinal));
        await Server.RunAsync(database, """
            insert into contracts.book_cells select account + 17000, authority, shop, booked_on, effective_on, recorded_on, -cents from contracts.book_cells where account = 23009;
            insert into contracts.book_cells select account + 17900, authority, shop, booked_on, effective_on, recorded_on, -cents from contracts.book_cells where account = 23109;
            insert into contracts.book_months select account + 17000, authority, shop, booked_month, effective_month, recorded_month, -cents from contracts.book_months where account = 23009;
            insert into contracts.book_months select account + 17900, authority, shop, booked_month, effective_month, recorded_month, -cents from contracts.book_months where account = 23109;
            delete from contracts.schema_version where version = (select max(version) from contracts.schema_version);
            """);
        await using (var store = await ContractsStore.OpenAsync(database, new StoreSettings(Server.Zone, true)))
        {
            Assert.Equal(before, await TotalsAsync(store));
            Assert.Empty((await store.BookAudit.RunAsync(await store.Reader.NowAsync())).Differences);
        }
    }

    private static async Task<List<string>> TotalsAsync(ContractsStore store) =>
        [.. (await store.Books.TotalsAsync(LocalDate.MinIsoValue, new LocalDate(2026, 11, 15), Instant.MaxValue)).Select(total => $"{total.Account} {total.Movement} {total.Amount}")];

    private static string Pay(int number)
    {
        var at = new LocalDateTime(2026, 9, 6, 12, 0).PlusMinutes(30 * number);
        var line = Lines.Pay($"C-{number % Contracts}", $"p{number}", "3.00", $"{at:uuuu-MM-dd'T'HH:mm}:00Z", on: $"{at.Date.PlusDays(-(number % 5)):uuuu-MM-dd}");
        return number % 3 == 0 ? line[..^1] + ",\"reference\":\"Nº 7 \\\"a\\\\b\\\" \",\"by\":\"cli:até\",\"reason\":\"told late\"}" : line;
    }

    private static readonly (string Table, string Rows)[] Tables =
    [
        ("mt_events", "concat_ws('|', seq_id, stream_id, version, type, data, timestamp, tenant_id, mt_dotnet_type, headers, is_archived), E'\\n' order by seq_id) from contracts.mt_events"),
        ("mt_streams", "concat_ws('|', id, version, tenant_id, is_archived), E'\\n' order by id) from contracts.mt_streams"),
        ("command_keys", "concat_ws('|', key, contract, recorded_at, outcome), E'\\n' order by key) from contracts.command_keys"),
        ("placements", "concat_ws('|', serial, contract), E'\\n' order by serial) from contracts.placements"),
        ("posting_sets", "s::text, E'\\n' order by sequence, stream) from contracts.posting_sets s"),
        ("book_cells", "c::text, E'\\n' order by c::text) from contracts.book_cells c where cents <> 0"),
        ("book_months", "m::text, E'\\n' order by m::text) from contracts.book_months m where cents <> 0"),
    ];

    private static async Task<string?> TextAsync(string database, string rows)
    {
        await using var source = NpgsqlDataSource.Create(database);
        await using var command = source.CreateCommand($"select string_agg({rows}");
        return await command.ExecuteScalarAsync() as string;
    }
}
