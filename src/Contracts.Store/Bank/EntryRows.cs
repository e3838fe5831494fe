using System.Collections.Immutable;
using System.Text;
using Contracts.Agreements;
using Contracts.Bank;
using Contracts.Store.Json;
using NodaTime;
using Npgsql;

namespace Contracts.Store.Bank;

/// <summary>Where a line stands.</summary>
public enum EntryStanding
{
    /// <summary>It was clear what it is about.</summary>
    Matched,

    /// <summary>It may be about one of several, and waits.</summary>
    Proposed,

    /// <summary>Nothing is known that it could be about, and it waits.</summary>
    Unmatched,

    /// <summary>A person said what it is about.</summary>
    Settled,

    /// <summary>A person said that it concerns no contract.</summary>
    SetAside,
}

/// <summary>A line as it was recorded.</summary>
/// <param name="Line">The line.</param>
/// <param name="Standing">Where it stands.</param>
/// <param name="Shares">The contracts it concerns, with what each was paid.</param>
/// <param name="Payments">The payments that were made, reversed, or arrived.</param>
/// <param name="Candidates">What it may be about, while it is only proposed.</param>
/// <param name="Because">Why.</param>
/// <param name="Remark">What somebody should see to.</param>
/// <param name="RecordedAt">When it was taken in.</param>
/// <param name="DecidedAt">When a person decided on it, or null.</param>
/// <param name="DecidedBy">Who did.</param>
/// <param name="Text">What was written with it, while it waits.</param>
public sealed record RecordedEntry(
    LineKept Line, EntryStanding Standing, ImmutableArray<EntryShare> Shares, ImmutableArray<string> Payments, ImmutableArray<Candidate> Candidates,
    string Because, string? Remark, Instant RecordedAt, Instant? DecidedAt, string? DecidedBy, string? Text)
{
    /// <summary>Whether a person is still to decide on it.</summary>
    public bool Waits => Standing is EntryStanding.Proposed or EntryStanding.Unmatched;

    /// <summary>The line as a decision meets it.</summary>
    public WaitingEntry ToWaiting() => new(
        Line.Entry, Line.BookedOn, Line.Paid(), Line.IsCredit, Line.Method, Line.Reference, Line.ReturnCode,
        Waits ? null : DecidedBy ?? "the reading of the file");
}

/// <summary>Reads lines from their events.</summary>
internal static class EntryRows
{
    private const string Columns = """
        select e.type, e.data, e.timestamp, e.headers->>'actor', e.headers->>'reason', t.text
        from contracts.mt_events e left join contracts.waiting_texts t on t.entry = substr(e.stream_id, 13)
        """;

    // Ranges that the index on streams serves: the semicolon is the character after the colon.
    public const string Waited = $"{Columns} where e.stream_id >= 'money-entry:' and e.stream_id < 'money-entry;' and e.timestamp <= $1 order by e.seq_id";

    /// <summary>One line that waited or waits.</summary>
    public const string Named = $"{Columns} where e.stream_id = $1 order by e.seq_id";

    /// <summary>The lines of a file that were clear, so many of them.</summary>
    public const string MatchedIn = """
        select e.type, e.data, e.timestamp, e.headers->>'actor', e.headers->>'reason', null::text from contracts.mt_events e
        where e.stream_id = $1 and e.type = 'entry_matched' order by e.version limit $2
        """;

    /// <summary>Every line the command names, in the order in which they were recorded.</summary>
    public static async Task<List<RecordedEntry>> ReadAsync(NpgsqlCommand command, CancellationToken stop)
    {
        var order = new List<string>();
        var found = new Dictionary<string, RecordedEntry>(StringComparer.Ordinal);
        await using var reader = await command.ExecuteReaderAsync(stop).ConfigureAwait(false);
        while (await reader.ReadAsync(stop).ConfigureAwait(false))
        {
            var fact = EventJson.Read(Encoding.UTF8.GetBytes(reader.GetString(0)), reader.GetFieldValue<byte[]>(1));
            var at = reader.GetFieldValue<Instant>(2);
            var (actor, reason, text) = (Text(reader, 3), Text(reader, 4), Text(reader, 5));
            switch (fact)
            {
                case EntryMatched e:
                    Begin(new RecordedEntry(
                        e.Line, EntryStanding.Matched, e.Contract is null ? [] : [new EntryShare(e.Contract, e.Line.Paid())], e.Payments, [], e.Because, e.Remark, at, null,
                            null, null));
                    break;
                case EntryProposed e: Begin(new RecordedEntry(e.Line, EntryStanding.Proposed, [], [], e.Candidates, e.Because, null, at, null, null, text)); break;
                case EntryUnmatched e: Begin(new RecordedEntry(e.Line, EntryStanding.Unmatched, [], [], [], e.Because, null, at, null, null, text)); break;
                case EntrySettled e:
                    var shares = e.Payment is null ? e.Shares : [new EntryShare(e.Shares[0].Contract, found[e.Entry].Line.Paid())];
                    ImmutableArray<string> payments = e.Payment is null ? [.. e.Shares.Select((_, index) => WaitingEntry.KeyOf(e.Entry, index))] : [e.Payment];
                    found[e.Entry] = found[e.Entry] with
                    {
                        Standing = EntryStanding.Settled, Shares = shares, Payments = payments, Because = reason ?? "as a person said", DecidedAt = at, DecidedBy = actor,
                            Text = null,
                    };
                    break;
                case EntrySetAside e:
                    found[e.Entry] = found[e.Entry] with { Standing = EntryStanding.SetAside, Because = reason ?? "", DecidedAt = at, DecidedBy = actor, Text = null };
                    break;
                default: throw new StoreException($"A stream of a bank's lines holds {fact.GetType().Name}.");
            }
        }

        return order.ConvertAll(id => found[id]);

        void Begin(RecordedEntry entry)
        {
            order.Add(entry.Line.Entry);
            found.Add(entry.Line.Entry, entry);
        }
    }

    private static string? Text(NpgsqlDataReader reader, int column) => reader.IsDBNull(column) ? null : reader.GetString(column);
}
