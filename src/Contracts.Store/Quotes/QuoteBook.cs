using Contracts.Quotes;
using Contracts.Store.Json;
using Contracts.Store.Reading;
using Contracts.Store.Writing;
using NodaTime;
using Npgsql;

namespace Contracts.Store.Quotes;

/// <summary>A quote as it was recorded.</summary>
/// <param name="Given">The event.</param>
/// <param name="Sequence">Its place in the order of recording: what came before it was known to it, and nothing else.</param>
/// <param name="At">When it was recorded.</param>
/// <param name="By">Who gave it.</param>
/// <param name="Contracts">The contracts that were signed with it, in the order of their ids.</param>
public sealed record RecordedQuote(QuoteGiven Given, long Sequence, Instant At, string? By, IReadOnlyList<string> Contracts);

/// <summary>The quotes that were given, and each made again of what was known when it was.</summary>
public sealed class QuoteBook
{
    private const string Rows = """
        select e.seq_id, e.timestamp, e.data, e.headers->>'actor',
               (select array_agg(s.stream_id order by s.stream_id) from contracts.mt_events s
                where s.type = 'signed' and s.data->>'quote' = substr(e.stream_id, 7) and s.timestamp <= $1)
        from contracts.mt_events e
        """;

    // A range that the index on streams serves: the semicolon is the character after the colon.
    private const string All = $"{Rows} where e.stream_id >= 'quote:' and e.stream_id < 'quote;' and e.timestamp <= $1 order by e.seq_id";

    private const string One = $"{Rows} where e.stream_id = $2 and e.timestamp <= $1";

    private readonly NpgsqlDataSource source;

    internal QuoteBook(NpgsqlDataSource source) => this.source = source;

    /// <summary>Every quote known at a moment, in the order of recording.</summary>
    public async Task<IReadOnlyList<RecordedQuote>> ListAsync(Instant known, CancellationToken stop = default)
    {
        await using var command = source.CreateCommand(All);
        command.Parameters.Add(new NpgsqlParameter<Instant> { TypedValue = Moments.ToMicroseconds(known) });
        return await ReadAsync(command, stop).ConfigureAwait(false);
    }

    /// <summary>One quote as known at a moment, or null when it had not been given.</summary>
    public async Task<RecordedQuote?> FindAsync(string quote, Instant known, CancellationToken stop = default)
    {
        await using var command = source.CreateCommand(One);
        command.Parameters.Add(new NpgsqlParameter<Instant> { TypedValue = Moments.ToMicroseconds(known) });
        command.Parameters.Add(new NpgsqlParameter<string> { TypedValue = QuoteGiven.StreamOf(quote) });
        return (await ReadAsync(command, stop).ConfigureAwait(false)).SingleOrDefault();
    }

    /// <summary>
    /// A quote made again, and whether it is the recorded one to the byte. It knows the rates that were recorded before it: one of
    /// the same instant that came after it is left out.
    /// </summary>
    public async Task<(Quote Quote, bool IsSame)> MakeAgainAsync(RecordedQuote recorded, CancellationToken stop = default)
    {
        if (recorded.Given.Form != QuoteJson.Form) { throw new StoreException($"The quote {recorded.Given.Quote} has a form that this version does not write."); }
        await using var command = source.CreateCommand(RateRows.Before);
        command.Parameters.Add(new NpgsqlParameter<long> { TypedValue = recorded.Sequence });
        var rates = await RateRows.ReadAsync(command, stop).ConfigureAwait(false);
        var quote = QuoteMaker.Make(recorded.Given.ToGiven().Offer, rates);
        return (quote, QuoteJson.Digest(quote) == recorded.Given.Digest);
    }

    private static async Task<List<RecordedQuote>> ReadAsync(NpgsqlCommand command, CancellationToken stop)
    {
        var quotes = new List<RecordedQuote>();
        await using var reader = await command.ExecuteReaderAsync(stop).ConfigureAwait(false);
        while (await reader.ReadAsync(stop).ConfigureAwait(false))
        {
            quotes.Add(new RecordedQuote(
                (QuoteGiven)EventJson.Read("quote_given"u8, reader.GetFieldValue<byte[]>(2)), reader.GetInt64(0), reader.GetFieldValue<Instant>(1),
                reader.IsDBNull(3) ? null : reader.GetString(3), reader.IsDBNull(4) ? [] : reader.GetFieldValue<string[]>(4)));
        }

        return quotes;
    }
}
