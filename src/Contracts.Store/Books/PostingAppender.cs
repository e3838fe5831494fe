using Npgsql;

namespace Contracts.Store.Books;

/// <summary>Writes posting sets and their cells inside the transaction of the events they belong to.</summary>
internal static class PostingAppender
{
    private const string CopySets = """
        copy contracts.posting_sets
            (sequence, stream, shop, recorded_at, open_from, through, accounts, authorities, days, starts, ends, cents)
        from stdin (format binary)
        """;

    private const string CopyCells =
        "copy contracts.book_cells (account, authority, shop, booked_on, effective_on, recorded_on, cents) from stdin (format binary)";

    private const string AddCells = """
        insert into contracts.book_cells (account, authority, shop, booked_on, effective_on, recorded_on, cents)
        select * from unnest($1, $2, $3, $4, $5, $6, $7)
        on conflict (recorded_on, booked_on, account, authority, shop, effective_on)
        do update set cents = contracts.book_cells.cents + excluded.cents
        """;

    private const string AddMonths = """
        insert into contracts.book_months (account, authority, shop, booked_month, effective_month, recorded_month, cents)
        select * from unnest($1, $2, $3, $4, $5, $6, $7)
        on conflict (recorded_month, booked_month, account, authority, shop, effective_month)
        do update set cents = contracts.book_months.cents + excluded.cents
        """;

    /// <summary>Writes what was made ready.</summary>
    public static async Task AppendAsync(NpgsqlConnection connection, NpgsqlTransaction transaction, PostingBatch postings, CancellationToken stop)
    {
        if (postings.Sets.Rows > 0) { await postings.Sets.SendAsync(connection, CopySets, stop).ConfigureAwait(false); }
        if (postings.FreshCells.Rows > 0) { await postings.FreshCells.SendAsync(connection, CopyCells, stop).ConfigureAwait(false); }
        await AddAsync(connection, transaction, postings.Cells, postings.Months, stop).ConfigureAwait(false);
    }

    /// <summary>Adds sums to the cube.</summary>
    public static Task AddAsync(NpgsqlConnection connection, NpgsqlTransaction? transaction, CellSums sums, CancellationToken stop) =>
        AddAsync(connection, transaction, sums.Cells(), sums.Months(), stop);

    private static async Task AddAsync(
        NpgsqlConnection connection, NpgsqlTransaction? transaction, KeyValuePair<Cell, long>[] cells, KeyValuePair<Cell, long>[] months, CancellationToken stop)
    {
        await using var batch = new NpgsqlBatch(connection, transaction);
        Queue(batch, AddCells, cells);
        Queue(batch, AddMonths, months);
        if (batch.BatchCommands.Count > 0) { await batch.ExecuteNonQueryAsync(stop).ConfigureAwait(false); }
    }

    private static void Queue(NpgsqlBatch batch, string sql, KeyValuePair<Cell, long>[] cells)
    {
        if (cells.Length == 0) { return; }
        batch.BatchCommands.Add(new NpgsqlBatchCommand(sql)
        {
            Parameters =
            {
                Array(cells, static cell => cell.Key.Account), Array(cells, static cell => cell.Key.Authority), Array(cells, static cell => cell.Key.Shop),
                Array(cells, static cell => cell.Key.BookedOn), Array(cells, static cell => cell.Key.EffectiveOn),
                Array(cells, static cell => cell.Key.RecordedOn), Array(cells, static cell => cell.Value),
            },
        });
    }

    private static NpgsqlParameter<T[]> Array<T>(KeyValuePair<Cell, long>[] cells, Converter<KeyValuePair<Cell, long>, T> column) =>
        new() { TypedValue = System.Array.ConvertAll(cells, column) };
}
