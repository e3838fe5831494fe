using System.Data;
using System.Runtime.CompilerServices;
using Contracts.Books;
using Contracts.Store.Writing;
using NodaTime;
using Npgsql;

namespace Contracts.Store.Books;

/// <summary>Which day of a posting a question goes by.</summary>
public enum BookDay
{
    /// <summary>The day it entered the books: what a trial balance and the journal go by.</summary>
    Booked,

    /// <summary>The day it was about, whether its month was closed when it was learned or not.</summary>
    Effective,
}

/// <summary>What an account moved, by reason, authority and shop.</summary>
public readonly record struct BookTotal(BookAccount Account, Movement Movement, string Authority, string Shop, Money Amount);

/// <summary>The books as of any day, as known at any moment.</summary>
public sealed class BooksReader
{
    private readonly NpgsqlDataSource source;

    internal BooksReader(NpgsqlDataSource source) => this.source = source;

    /// <summary>
    /// The sums of all postings from one day through another, as known at a moment, and of what was recorded at that very
    /// moment only up to a sequence. Answered from the cube; what came later on that day is taken out again, line by line.
    /// </summary>
    public async Task<IReadOnlyList<BookTotal>> TotalsAsync(
        LocalDate from, LocalDate through, Instant known, BookDay by = BookDay.Booked, long throughSequence = long.MaxValue,
        CancellationToken stop = default)
    {
        if (from > through) { return []; }
        known = Moments.ToMicroseconds(known);
        await using var connection = await source.OpenConnectionAsync(stop).ConfigureAwait(false);
        await using var snapshot = await connection.BeginTransactionAsync(IsolationLevel.RepeatableRead, stop).ConfigureAwait(false);
        var sums = new Dictionary<(int Account, string Authority, string Shop), long>();
        await AddCellsAsync(connection, sums, from, through, LastWholeDay(known), by, stop).ConfigureAwait(false);
        await TakeOutAsync(connection, sums, from, through, known, throughSequence, by, stop).ConfigureAwait(false);
        return [.. sums.Where(pair => pair.Value != 0)
            .Select(pair => new BookTotal(
                AccountCode.Account(pair.Key.Account), AccountCode.Movement(pair.Key.Account), pair.Key.Authority, pair.Key.Shop, new Money(pair.Value)))
            .OrderBy(total => total.Account).ThenBy(total => total.Movement)
            .ThenBy(total => total.Authority, StringComparer.Ordinal).ThenBy(total => total.Shop, StringComparer.Ordinal)];
    }

    /// <summary>Posting sets recorded up to a moment in the order of recording; those of one stream, or all.</summary>
    public async IAsyncEnumerable<PostingSet> SetsAsync(
        Instant known, string? stream = null, [EnumeratorCancellation] CancellationToken stop = default)
    {
        await using var command = source.CreateCommand($"""
            select {PostingRows.Columns} from contracts.posting_sets s
            where s.recorded_at <= $1 and ($2::text is null or s.stream = $2) order by s.sequence
            """);
        command.Parameters.Add(new NpgsqlParameter<Instant> { TypedValue = Moments.ToMicroseconds(known) });
        command.Parameters.Add(new NpgsqlParameter<string?> { TypedValue = stream });
        await using var reader = await command.ExecuteReaderAsync(stop).ConfigureAwait(false);
        while (await reader.ReadAsync(stop).ConfigureAwait(false)) { yield return PostingRows.Read(reader); }
    }

    private static LocalDate LastWholeDay(Instant known) =>
        known >= Instant.MaxValue - Duration.FromDays(2) ? LocalDate.MaxIsoValue : known.InUtc().Date;

    private static async Task AddCellsAsync(
        NpgsqlConnection connection, Dictionary<(int Account, string Authority, string Shop), long> sums,
        LocalDate from, LocalDate through, LocalDate recorded, BookDay by, CancellationToken stop)
    {
        await using var command = BookQuestion.Command(connection, from, through, recorded, by);
        await using var reader = await command.ExecuteReaderAsync(stop).ConfigureAwait(false);
        while (await reader.ReadAsync(stop).ConfigureAwait(false))
        {
            var (code, authority, shop, cents) = (reader.GetInt32(0), reader.GetString(1), reader.GetString(2), reader.GetInt64(3));
            sums[(code, authority, shop)] = cents;
            var movement = AccountCode.Movement(code);
            if (EarnedByDay.Revenue(AccountCode.Account(code), movement) is { } revenue) { sums[(AccountCode.Of(revenue, movement), authority, shop)] = -cents; }
        }
    }

    private static async Task TakeOutAsync(
        NpgsqlConnection connection, Dictionary<(int Account, string Authority, string Shop), long> sums,
        LocalDate from, LocalDate through, Instant known, long throughSequence, BookDay by, CancellationToken stop)
    {
        if (known >= Instant.MaxValue - Duration.FromDays(2)) { return; }
        await using var command = new NpgsqlCommand(
            $"""
             select {PostingRows.Columns} from contracts.posting_sets s
             where s.recorded_at >= $1 and s.recorded_at < $2 and (s.recorded_at > $1 or s.sequence > $3)
             """,
            connection);
        command.Parameters.Add(new NpgsqlParameter<Instant> { TypedValue = known });
        command.Parameters.Add(new NpgsqlParameter<Instant> { TypedValue = known.InUtc().Date.PlusDays(1).AtMidnight().InUtc().ToInstant() });
        command.Parameters.Add(new NpgsqlParameter<long> { TypedValue = throughSequence });
        await using var reader = await command.ExecuteReaderAsync(stop).ConfigureAwait(false);
        while (await reader.ReadAsync(stop).ConfigureAwait(false))
        {
            var set = PostingRows.Read(reader);
            foreach (var line in set.Lines)
            {
                var moved = by == BookDay.Booked ? set.Booked(line, from, through) : PostingSet.Effective(line, from, through);
                var key = (AccountCode.Of(line), line.Authority, set.Shop);
                System.Runtime.InteropServices.CollectionsMarshal.GetValueRefOrAddDefault(sums, key, out _) -= moved.Cents;
            }
        }
    }
}
