using System.Text;
using Contracts.History;
using Contracts.Replays;
using Contracts.Store.Json;
using Contracts.Terms;
using NodaTime;
using Npgsql;

namespace Contracts.Store.Reading;

/// <summary>Takes the columns of <see cref="StoredEvent.Columns"/> from a reader.</summary>
internal static class RowReader
{
    public static Recorded Read(NpgsqlDataReader reader) => StoredEvent.Read(
        reader.GetInt64(1), reader.GetFieldValue<Instant>(2), Encoding.UTF8.GetBytes(reader.GetString(3)),
        reader.GetFieldValue<byte[]>(4), reader.IsDBNull(5) ? [] : reader.GetFieldValue<byte[]>(5));
}

/// <summary>The tax rates and adopted law packs, which are few: read whole, in the order of recording.</summary>
internal static class RateRows
{
    // A range that the index on streams serves: the semicolon is the character after the colon.
    private const string Where =
        "from contracts.mt_events e where (e.stream_id >= 'tax:' and e.stream_id < 'tax;' or e.stream_id >= 'law:' and e.stream_id < 'law;')";

    private const string Select = "select e.data, e.type, coalesce(e.headers->>'actor', ''), e.seq_id, e.timestamp";

    public const string All = $"{Select} {Where} order by e.seq_id";

    public const string KnownAt = $"{Select} {Where} and e.timestamp <= $1 order by e.seq_id";

    /// <summary>The same by a moment that is an expression.</summary>
    public static string KnownBy(string moment) => $"{Select} {Where} and e.timestamp <= {moment} order by e.seq_id";

    public const string Sealed =
        $"{Select} {Where} and exists (select from audit.leaf l where l.event_seq = e.seq_id and l.leaf_index < $1) order by e.seq_id";

    public const string Before = $"{Select} {Where} and e.seq_id < $1 order by e.seq_id";

    public const string Through = $"{Select} {Where} and e.seq_id <= $1 order by e.seq_id";

    public const string Last = $"select coalesce(max(e.seq_id), 0) {Where}";

    public static async Task<ReferenceData> ReadAsync(NpgsqlCommand command, CancellationToken stop) =>
        (await ReadFactsAsync(command, stop).ConfigureAwait(false)).Last;

    /// <summary>The same with each state of it.</summary>
    public static async Task<KnownReference> ReadFactsAsync(NpgsqlCommand command, CancellationToken stop)
    {
        await using var reader = await command.ExecuteReaderAsync(stop).ConfigureAwait(false);
        return await ReadFactsAsync(reader, stop).ConfigureAwait(false);
    }

    /// <summary>The same from rows that are being read.</summary>
    public static async Task<KnownReference> ReadFactsAsync(NpgsqlDataReader reader, CancellationToken stop)
    {
        var known = KnownReference.None;
        while (await reader.ReadAsync(stop).ConfigureAwait(false))
        {
            known = EventJson.Read(Encoding.UTF8.GetBytes(reader.GetString(1)), reader.GetFieldValue<byte[]>(0)) switch
            {
                TaxRateSet tax => known.Then(tax.Fact(reader.GetInt64(3), reader.GetFieldValue<Instant>(4))),
                LawPackAdopted law => known.Then(law.Fact(reader.GetInt64(3), reader.GetFieldValue<Instant>(4), reader.GetString(2))),
                var other => throw new StoreException($"A stream of reference data holds {other.GetType().Name}."),
            };
        }

        return known;
    }
}
