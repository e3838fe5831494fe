using Contracts.History;
using Contracts.Store.Setup;
using Contracts.Store.Writing;
using Contracts.Terms;
using NodaTime;
using Npgsql;

namespace Contracts.Store.Reading;

/// <summary>What one look at a contract needs: the store's present moment, what was known of the contract, and the tax rates and law packs known.</summary>
/// <param name="Now">The present moment of the store when it was looked at.</param>
/// <param name="Known">The state of knowledge that was asked about.</param>
/// <param name="History">What was known of the contract, or null when that was nothing.</param>
/// <param name="Rates">What was known of tax rates and law packs.</param>
public sealed record OneContract(Instant Now, Instant Known, ContractHistory? History, ReferenceData Rates)
{
    private const string Clock = "select case when simulated then last else greatest(last, clock_timestamp()) end from contracts.clock";

    // Whatever waits for the writers' lock has seen every moment that was given out, so that the present moment may be each statement's own.
    private const string Moment = $"coalesce($1, ({Clock}))";

    private const string Events = $"""
        select {StoredEvent.Columns} from contracts.mt_events e where e.stream_id = $2 and e.timestamp <= {Moment} order by e.version
        """;

    /// <summary>The four answers by one round trip, in one transaction that no writer's work falls into.</summary>
    internal static async Task<OneContract> ReadAsync(NpgsqlDataSource source, string contract, Instant? known, CancellationToken stop)
    {
        await using var connection = await source.OpenConnectionAsync(stop).ConfigureAwait(false);
        await using var batch = new NpgsqlBatch(connection);
        batch.BatchCommands.Add(new NpgsqlBatchCommand($"select pg_advisory_xact_lock_shared({StoreSchema.WriterLock})"));
        batch.BatchCommands.Add(new NpgsqlBatchCommand(Clock));
        batch.BatchCommands.Add(new NpgsqlBatchCommand(Events) { Parameters = { At(known), new NpgsqlParameter<string> { TypedValue = contract } } });
        batch.BatchCommands.Add(new NpgsqlBatchCommand(RateRows.KnownBy(Moment)) { Parameters = { At(known) } });
        await using var reader = await batch.ExecuteReaderAsync(stop).ConfigureAwait(false);
        await reader.NextResultAsync(stop).ConfigureAwait(false);
        if (!await reader.ReadAsync(stop).ConfigureAwait(false)) { throw new StoreException("The store's clock is gone."); }
        var now = reader.GetFieldValue<Instant>(0);
        await reader.NextResultAsync(stop).ConfigureAwait(false);
        var entries = new List<Recorded>();
        while (await reader.ReadAsync(stop).ConfigureAwait(false)) { entries.Add(RowReader.Read(reader)); }
        await reader.NextResultAsync(stop).ConfigureAwait(false);
        var rates = await RateRows.ReadFactsAsync(reader, stop).ConfigureAwait(false);
        return new OneContract(now, known ?? now, entries.Count > 0 ? ContractHistory.Of(contract, entries) : null, rates.Last);
    }

    private static NpgsqlParameter At(Instant? known) => known is { } at
        ? new NpgsqlParameter<Instant> { TypedValue = Moments.ToMicroseconds(at) }
        : new NpgsqlParameter { Value = DBNull.Value, NpgsqlDbType = NpgsqlTypes.NpgsqlDbType.TimestampTz };
}
