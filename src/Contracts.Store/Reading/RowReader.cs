using System.Text;
using Contracts.History;
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

/// <summary>The tax rates, which are few: read whole, in the order of recording.</summary>
internal static class RateRows
{
    // A range that the index on streams serves: the semicolon is the character after the colon.
    private const string Where = "from contracts.mt_events e where e.stream_id >= 'tax:' and e.stream_id < 'tax;'";

    public const string All = $"select e.data {Where} order by e.seq_id";

    public const string KnownAt = $"select e.data {Where} and e.timestamp <= $1 order by e.seq_id";

    public const string Through = $"select e.data {Where} and e.seq_id <= $1 order by e.seq_id";

    public const string Last = $"select coalesce(max(e.seq_id), 0) {Where}";

    public static async Task<TaxRates> ReadAsync(NpgsqlCommand command, CancellationToken stop)
    {
        var rates = TaxRates.None;
        await using var reader = await command.ExecuteReaderAsync(stop).ConfigureAwait(false);
        while (await reader.ReadAsync(stop).ConfigureAwait(false))
        {
            rates = ((TaxRateSet)EventJson.Read("tax_rate_set"u8, reader.GetFieldValue<byte[]>(0))).AddTo(rates);
        }

        return rates;
    }
}
