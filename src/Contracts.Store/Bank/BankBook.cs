using System.Text;
using Contracts.Bank;
using Contracts.History;
using Contracts.Store.Json;
using Contracts.Store.Writing;
using NodaTime;
using Npgsql;

namespace Contracts.Store.Bank;

/// <summary>A file as it was taken in.</summary>
/// <param name="File">What was recorded of it.</param>
/// <param name="At">When.</param>
/// <param name="By">Who sent it.</param>
/// <param name="Matched">How many of its lines were clear.</param>
/// <param name="Waited">How many waited for a person.</param>
/// <param name="Waiting">How many of those still wait.</param>
public sealed record RecordedFile(MoneyFileReceived File, Instant At, string? By, long Matched, int Waited, int Waiting);

/// <summary>Money files and their lines, and what lines are held against.</summary>
public sealed class BankBook
{
    /// <summary>How many days back payments are looked at: sixty for a return by a family, and a quarter for a bank that is late.</summary>
    private const int PaymentDays = 150;

    private const string Files = """
        select e.data, e.timestamp, e.headers->>'actor', s.version - 1 from contracts.mt_events e join contracts.mt_streams s on s.id = e.stream_id
        where e.stream_id >= 'money-file:' and e.stream_id < 'money-file;' and e.type = 'money_file_received' and e.timestamp <= $1 order by e.seq_id
        """;

    private const string Arrived = """
        select e.data from contracts.mt_events e
        where e.stream_id >= 'money-file:' and e.stream_id < 'money-file;' and e.type = 'entry_matched' and e.timestamp >= $1 and not e.data ? 'contract'
        """;

    /// <summary>Payments that a person saw in a line: those that arrived, and those that came back, which are no payments any more.</summary>
    private const string Seen = """
        select e.data ->> 'payment' from contracts.mt_events e
        where e.stream_id >= 'money-entry:' and e.stream_id < 'money-entry;' and e.type = 'entry_settled' and e.timestamp >= $1 and e.data ? 'payment'
        """;

    private readonly NpgsqlDataSource source;
    private readonly StoreReader reader;
    private readonly StoreSettings settings;

    internal BankBook(NpgsqlDataSource source, StoreReader reader, StoreSettings settings) =>
        (this.source, this.reader, this.settings) = (source, reader, settings);

    /// <summary>Every file known at a moment, in the order in which they came.</summary>
    public async Task<IReadOnlyList<RecordedFile>> FilesAsync(Instant known, CancellationToken stop = default)
    {
        var waited = (await WaitedAsync(known, stop).ConfigureAwait(false)).ToLookup(one => one.Line.File, StringComparer.Ordinal);
        await using var command = source.CreateCommand(Files);
        command.Parameters.Add(new NpgsqlParameter<Instant> { TypedValue = Moments.ToMicroseconds(known) });
        var files = new List<RecordedFile>();
        await using var rows = await command.ExecuteReaderAsync(stop).ConfigureAwait(false);
        while (await rows.ReadAsync(stop).ConfigureAwait(false))
        {
            var file = (MoneyFileReceived)EventJson.Read("money_file_received"u8, rows.GetFieldValue<byte[]>(0));
            files.Add(new RecordedFile(
                file, rows.GetFieldValue<Instant>(1), rows.IsDBNull(2) ? null : rows.GetString(2), rows.GetInt64(3),
                waited[file.File].Count(), waited[file.File].Count(one => one.Waits)));
        }

        return files;
    }

    /// <summary>Every line that waits or waited for a person, in the order in which they came.</summary>
    public async Task<IReadOnlyList<RecordedEntry>> WaitedAsync(Instant known, CancellationToken stop = default)
    {
        await using var command = source.CreateCommand(EntryRows.Waited);
        command.Parameters.Add(new NpgsqlParameter<Instant> { TypedValue = Moments.ToMicroseconds(known) });
        return await EntryRows.ReadAsync(command, stop).ConfigureAwait(false);
    }

    /// <summary>One line that waits or waited, or null where none of that name did.</summary>
    public async Task<RecordedEntry?> FindAsync(string entry, CancellationToken stop = default)
    {
        await using var command = source.CreateCommand(EntryRows.Named);
        command.Parameters.Add(new NpgsqlParameter<string> { TypedValue = BankStreams.OfEntry(entry) });
        return (await EntryRows.ReadAsync(command, stop).ConfigureAwait(false)).SingleOrDefault();
    }

    /// <summary>The lines of a file that were clear, the first of them.</summary>
    /// <param name="file">The file's digest.</param>
    /// <param name="most">How many at most.</param>
    /// <param name="stop">Gives up.</param>
    public async Task<IReadOnlyList<RecordedEntry>> MatchedAsync(string file, int most, CancellationToken stop = default)
    {
        await using var command = source.CreateCommand(EntryRows.MatchedIn);
        command.Parameters.Add(new NpgsqlParameter<string> { TypedValue = BankStreams.OfFile(file) });
        command.Parameters.Add(new NpgsqlParameter<int> { TypedValue = most });
        return await EntryRows.ReadAsync(command, stop).ConfigureAwait(false);
    }

    /// <summary>What lines are held against: every contract on the present day, as known now.</summary>
    public async Task<ShopBook> ReadShopAsync(CancellationToken stop = default)
    {
        var now = await reader.NowAsync(stop).ConfigureAwait(false);
        var today = now.InZone(settings.Zone).Date;
        var rates = await reader.RatesAsync(now, stop).ConfigureAwait(false);
        var book = new ShopBook();
        var standings = reader.MapHistoriesAsync(
            now, history => AccountFold.At(history, rates, today) is { } state ? Standing.Of(history, state, today.PlusDays(-PaymentDays)) : null, stop);
        await foreach (var standing in standings.ConfigureAwait(false))
        {
            if (standing is not null) { book.Add(standing); }
        }

        await using var command = source.CreateCommand(Arrived);
        command.Parameters.Add(new NpgsqlParameter<Instant> { TypedValue = Moments.ToMicroseconds(now - Duration.FromDays(2 * PaymentDays)) });
        await using var rows = await command.ExecuteReaderAsync(stop).ConfigureAwait(false);
        while (await rows.ReadAsync(stop).ConfigureAwait(false))
        {
            foreach (var payment in ((EntryMatched)EventJson.Read("entry_matched"u8, rows.GetFieldValue<byte[]>(0))).Payments) { book.Saw(payment); }
        }

        await rows.DisposeAsync().ConfigureAwait(false);
        await using var seen = source.CreateCommand(Seen);
        seen.Parameters.Add(new NpgsqlParameter<Instant> { TypedValue = Moments.ToMicroseconds(now - Duration.FromDays(2 * PaymentDays)) });
        await using var payments = await seen.ExecuteReaderAsync(stop).ConfigureAwait(false);
        while (await payments.ReadAsync(stop).ConfigureAwait(false)) { book.Saw(payments.GetString(0)); }
        return book;
    }
}
