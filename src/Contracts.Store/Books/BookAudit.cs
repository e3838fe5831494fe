using Contracts.Books;
using Contracts.Store.Setup;
using NodaTime;
using Npgsql;

namespace Contracts.Store.Books;

/// <summary>A place where the books do not say what the events say.</summary>
public sealed record BookDifference(string Kind, string Stream, string Detail);

/// <summary>
/// Holds the books against the events: the postings of every contract against its history folded anew, every posting set
/// against itself, and the cube against the postings. The cube can be built again; postings are history and cannot.
/// </summary>
public sealed class BookAudit
{
    private readonly NpgsqlDataSource source;
    private readonly StoreReader reader;
    private readonly BooksReader books;

    internal BookAudit(NpgsqlDataSource source, StoreReader reader, BooksReader books)
    {
        this.source = source;
        this.reader = reader;
        this.books = books;
    }

    /// <summary>Everything that differs, as known at a moment, and how many posting sets and cells were looked at.</summary>
    public async Task<(long Sets, long Cells, IReadOnlyList<BookDifference> Differences)> RunAsync(Instant known, CancellationToken stop = default)
    {
        var differences = new List<BookDifference>();
        var sums = new CellSums();
        var sets = 0L;
        var posted = new Dictionary<string, LineSums>(StringComparer.Ordinal);
        await foreach (var set in books.SetsAsync(known, null, stop).ConfigureAwait(false))
        {
            sets++;
            sums.Add(set);
            if (!Balances(set)) { differences.Add(new BookDifference("posting-unbalanced", set.Stream, $"The postings of event {set.Sequence} do not balance.")); }
            if (!posted.TryGetValue(set.Stream, out var lines)) { posted[set.Stream] = lines = new LineSums(); }
            foreach (var line in set.Lines) { lines.Add(line, 1); }
        }

        var rates = await reader.RatesAsync(known, stop).ConfigureAwait(false);
        var contracts = reader.MapHistoriesAsync(known, history => (history.Contract, Lines: Postings.Lines(history, rates)), stop);
        await foreach (var (contract, lines) in contracts.ConfigureAwait(false))
        {
            var left = posted.GetValueOrDefault(contract) ?? new LineSums();
            foreach (var line in lines) { left.Add(line, -1); }
            if (left.First is { } line1)
            {
                differences.Add(new BookDifference(
                    "postings-differ", contract, $"{line1.Account} {line1.Authority} moves otherwise on {line1.On:uuuu-MM-dd} than the history says."));
            }
        }

        var cells = await CompareCellsAsync(sums, differences, stop).ConfigureAwait(false);
        return (sets, cells, differences);
    }

    /// <summary>Builds the cube again from the postings, and answers how many cells were different.</summary>
    public async Task<int> RebuildAsync(CancellationToken stop = default)
    {
        await using var connection = await source.OpenConnectionAsync(stop).ConfigureAwait(false);
        await using var transaction = await connection.BeginTransactionAsync(stop).ConfigureAwait(false);
        await ExecuteAsync(connection, $"select pg_advisory_xact_lock({StoreSchema.WriterLock})", stop).ConfigureAwait(false);
        var sums = new CellSums();
        await foreach (var set in books.SetsAsync(Instant.MaxValue - Duration.FromDays(3650), null, stop).ConfigureAwait(false)) { sums.Add(set); }
        var differences = new List<BookDifference>();
        await CompareCellsAsync(sums, differences, stop).ConfigureAwait(false);
        await ExecuteAsync(connection, "delete from contracts.book_cells; delete from contracts.book_months", stop).ConfigureAwait(false);
        await PostingAppender.AddAsync(connection, transaction, sums, stop).ConfigureAwait(false);
        await transaction.CommitAsync(stop).ConfigureAwait(false);
        return differences.Count;
    }

    /// <summary>On every day and in every commodity: plain lines by day, periods by their days.</summary>
    private static bool Balances(PostingSet set)
    {
        var sums = new Dictionary<(LocalDate On, Spread? Spread, long Size, bool IsMemo), Money>();
        foreach (var line in set.Lines)
        {
            // Two periods round apart unless they are of the same amount.
            var size = line.Spread is null ? 0 : Math.Abs(line.Amount.Cents);
            var key = (line.On, line.Spread, size, line.Account >= BookAccount.EquityHeld);
            sums[key] = sums.GetValueOrDefault(key) + line.Amount;
        }

        return sums.Values.All(sum => sum == Money.Zero);
    }

    private async Task<long> CompareCellsAsync(CellSums sums, List<BookDifference> differences, CancellationToken stop) =>
        await CompareAsync("book_cells", "on", sums.Cells(), differences, stop).ConfigureAwait(false)
        + await CompareAsync("book_months", "month", sums.Months(), differences, stop).ConfigureAwait(false);

    private async Task<long> CompareAsync(
        string table, string day, KeyValuePair<Cell, long>[] sums, List<BookDifference> differences, CancellationToken stop)
    {
        var wanted = sums.ToDictionary();
        var cells = 0L;
        await using var command = source.CreateCommand(
            $"select account, authority, shop, booked_{day}, effective_{day}, recorded_{day}, cents from contracts.{table} where cents <> 0");
        await using var rows = await command.ExecuteReaderAsync(stop).ConfigureAwait(false);
        while (await rows.ReadAsync(stop).ConfigureAwait(false))
        {
            cells++;
            var cell = new Cell(
                rows.GetInt32(0), rows.GetString(1), rows.GetString(2), rows.GetFieldValue<LocalDate>(3),
                rows.GetFieldValue<LocalDate>(4), rows.GetFieldValue<LocalDate>(5));
            if (!wanted.Remove(cell, out var cents) || cents != rows.GetInt64(6)) { differences.Add(Differs(table, cell)); }
        }

        differences.AddRange(wanted.Keys.Select(cell => Differs(table, cell)));
        return cells;
    }

    private static BookDifference Differs(string table, Cell cell) => new(
        "read-model-differs", table,
        $"{AccountCode.Account(cell.Account)}, booked {cell.BookedOn:uuuu-MM-dd}, recorded {cell.RecordedOn:uuuu-MM-dd}: not the sum of the postings.");

    private static async Task ExecuteAsync(NpgsqlConnection connection, string sql, CancellationToken stop)
    {
        await using var command = new NpgsqlCommand(sql, connection);
        await command.ExecuteNonQueryAsync(stop).ConfigureAwait(false);
    }

    /// <summary>Lines summed as far as they add up; what is left over when two sides are taken from each other.</summary>
    private sealed class LineSums
    {
        private readonly Dictionary<BookLine, long> sums = [];

        public BookLine? First => sums.Count == 0 ? null : sums.Keys.First();

        public void Add(BookLine line, int sign)
        {
            // A plain line counts in cents. A period counts whole, and its negative is the same period taken back.
            var (key, count) = line.Spread is null
                ? (line with { Amount = Money.Zero }, line.Amount.Cents * sign)
                : line.Amount < Money.Zero ? (line.Reversed(), -sign) : (line, (long)sign);
            var sum = sums.GetValueOrDefault(key) + count;
            if (sum == 0) { sums.Remove(key); }
            else { sums[key] = sum; }
        }
    }
}
