using Contracts.Books;
using NodaTime;
using Npgsql;
using NpgsqlTypes;

namespace Contracts.Store.Books;

/// <summary>Writes posting sets and their cells inside the transaction of the events they belong to.</summary>
internal static class PostingAppender
{
    private const string Copy = """
        copy contracts.posting_sets
            (sequence, stream, shop, recorded_at, open_from, through, accounts, authorities, days, starts, ends, cents)
        from stdin (format binary)
        """;

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

    public static async Task AppendAsync(
        NpgsqlConnection connection, NpgsqlTransaction transaction, IReadOnlyList<PostingSet> sets, CellSums sums, CancellationToken stop)
    {
        if (sets.Count == 0) { return; }
        await using (var copy = await connection.BeginBinaryImportAsync(Copy, stop).ConfigureAwait(false))
        {
            foreach (var set in sets) { await WriteAsync(copy, set, stop).ConfigureAwait(false); }
            await copy.CompleteAsync(stop).ConfigureAwait(false);
        }

        await AddAsync(connection, transaction, sums, stop).ConfigureAwait(false);
    }

    /// <summary>Adds sums to the cube.</summary>
    public static async Task AddAsync(NpgsqlConnection connection, NpgsqlTransaction? transaction, CellSums sums, CancellationToken stop)
    {
        await using var batch = new NpgsqlBatch(connection, transaction);
        Queue(batch, AddCells, sums.Cells);
        Queue(batch, AddMonths, sums.Months());
        if (batch.BatchCommands.Count > 0) { await batch.ExecuteNonQueryAsync(stop).ConfigureAwait(false); }
    }

    private static void Queue(NpgsqlBatch batch, string sql, IReadOnlyDictionary<Cell, long> sums)
    {
        // In the order of the key: two cells that are neighbours there are neighbours on the page.
        var cells = sums.Where(pair => pair.Value != 0).ToArray();
        System.Array.Sort(cells, static (left, right) => Compare(left.Key, right.Key));
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

    private static int Compare(in Cell left, in Cell right)
    {
        var order = left.RecordedOn.CompareTo(right.RecordedOn);
        if (order == 0) { order = left.BookedOn.CompareTo(right.BookedOn); }
        return order == 0 ? left.Account.CompareTo(right.Account) : order;
    }

    private static async Task WriteAsync(NpgsqlBinaryImporter copy, PostingSet set, CancellationToken stop)
    {
        var lines = set.Lines;
        await copy.StartRowAsync(stop).ConfigureAwait(false);
        await copy.WriteAsync(set.Sequence, stop).ConfigureAwait(false);
        await copy.WriteAsync(set.Stream, stop).ConfigureAwait(false);
        await copy.WriteAsync(set.Shop, stop).ConfigureAwait(false);
        await copy.WriteAsync(set.At, stop).ConfigureAwait(false);
        if (set.OpenFrom is { } open) { await copy.WriteAsync(open, stop).ConfigureAwait(false); }
        else { await copy.WriteNullAsync(stop).ConfigureAwait(false); }
        await copy.WriteAsync(set.Through, stop).ConfigureAwait(false);
        await copy.WriteAsync(Of(lines, AccountCode.Of), stop).ConfigureAwait(false);
        await WriteIfAnyAsync(copy, lines, static line => line.Authority.Length > 0 ? line.Authority : null, stop).ConfigureAwait(false);
        await copy.WriteAsync(Of(lines, static line => line.On), stop).ConfigureAwait(false);
        await WriteIfAnyAsync(copy, lines, static line => line.Spread?.From, stop).ConfigureAwait(false);
        await WriteIfAnyAsync(copy, lines, static line => line.Spread?.To, stop).ConfigureAwait(false);
        await copy.WriteAsync(Of(lines, static line => line.Amount.Cents), stop).ConfigureAwait(false);
    }

    private static async Task WriteIfAnyAsync<T>(
        NpgsqlBinaryImporter copy, IReadOnlyList<BookLine> lines, Func<BookLine, T?> column, CancellationToken stop)
    {
        var values = Of(lines, column);
        if (values.All(value => value is null)) { await copy.WriteNullAsync(stop).ConfigureAwait(false); }
        else if (values is LocalDate?[] dates) { await copy.WriteAsync(dates, NpgsqlDbType.Array | NpgsqlDbType.Date, stop).ConfigureAwait(false); }
        else { await copy.WriteAsync(values, stop).ConfigureAwait(false); }
    }

    private static T[] Of<T>(IReadOnlyList<BookLine> lines, Func<BookLine, T> column)
    {
        var values = new T[lines.Count];
        for (var index = 0; index < values.Length; index++) { values[index] = column(lines[index]); }
        return values;
    }

    private static NpgsqlParameter<T[]> Array<T>(KeyValuePair<Cell, long>[] cells, Converter<KeyValuePair<Cell, long>, T> column) =>
        new() { TypedValue = System.Array.ConvertAll(cells, column) };
}
