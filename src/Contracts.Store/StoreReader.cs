using System.Runtime.CompilerServices;
using Contracts.History;
using Contracts.Replays;
using Contracts.Store.Reading;
using Contracts.Store.Setup;
using Contracts.Store.Writing;
using Contracts.Terms;
using NodaTime;
using Npgsql;

namespace Contracts.Store;

/// <summary>What was recorded, as known at a moment. The same question always gets the same answer.</summary>
public sealed class StoreReader
{
    private const string One = $"""
        select {StoredEvent.Columns} from contracts.mt_events e where e.stream_id = $1 and e.timestamp <= $2 order by e.version
        """;

    private const string OneSealed = $"""
        select {StoredEvent.Columns} from contracts.mt_events e join audit.leaf l on l.event_seq = e.seq_id
        where e.stream_id = $1 and l.leaf_index < $2 order by e.version
        """;

    private const string Several = $"""
        select {StoredEvent.Columns} from contracts.mt_events e where e.stream_id = any($1) and e.timestamp <= $2 order by e.stream_id, e.version
        """;

    private const string SeveralSealed = $"""
        select {StoredEvent.Columns} from contracts.mt_events e join audit.leaf l on l.event_seq = e.seq_id
        where e.stream_id = any($1) and l.leaf_index < $2 order by e.stream_id, e.version
        """;

    private readonly NpgsqlDataSource source;

    internal StoreReader(NpgsqlDataSource source) => this.source = source;

    /// <summary>
    /// The present moment of the store: the database's clock, or where a simulated clock stands. Waits for a
    /// transaction under way, so that nothing can be recorded at or before it afterwards.
    /// </summary>
    public async Task<Instant> NowAsync(CancellationToken stop = default)
    {
        await using var connection = await source.OpenConnectionAsync(stop).ConfigureAwait(false);
        await using var batch = new NpgsqlBatch(connection);
        batch.BatchCommands.Add(new NpgsqlBatchCommand($"select pg_advisory_xact_lock_shared({StoreSchema.WriterLock})"));
        batch.BatchCommands.Add(new NpgsqlBatchCommand(
            "select case when simulated then last else greatest(last, clock_timestamp()) end from contracts.clock"));
        await using var reader = await batch.ExecuteReaderAsync(stop).ConfigureAwait(false);
        await reader.NextResultAsync(stop).ConfigureAwait(false);
        return await reader.ReadAsync(stop).ConfigureAwait(false)
            ? reader.GetFieldValue<Instant>(0)
            : throw new StoreException("The store's clock is gone.");
    }

    /// <summary>The tax rates known at a moment, or among the first leaves.</summary>
    public async Task<ReferenceData> RatesAsync(KnownAt known, CancellationToken stop = default)
    {
        await using var command = source.CreateCommand(known.Size is null ? RateRows.KnownAt : RateRows.Sealed);
        command.Parameters.Add(Parameter(known));
        return await RateRows.ReadAsync(command, stop).ConfigureAwait(false);
    }

    /// <summary>The tax rates recorded through an event of the store's order.</summary>
    public async Task<ReferenceData> RatesThroughAsync(long sequence, CancellationToken stop = default)
    {
        await using var command = source.CreateCommand(RateRows.Through);
        command.Parameters.Add(new NpgsqlParameter<long> { TypedValue = sequence });
        return await RateRows.ReadAsync(command, stop).ConfigureAwait(false);
    }

    /// <summary>Rates and law packs as they became known until a moment, each from its event on.</summary>
    public async Task<KnownReference> ReferenceAsync(KnownAt known, CancellationToken stop = default)
    {
        await using var command = source.CreateCommand(known.Size is null ? RateRows.KnownAt : RateRows.Sealed);
        command.Parameters.Add(Parameter(known));
        return await RateRows.ReadFactsAsync(command, stop).ConfigureAwait(false);
    }

    /// <summary>What was known of one contract at a moment or among the first leaves, or null when that was nothing.</summary>
    public async Task<ContractHistory?> HistoryAsync(string contract, KnownAt known, CancellationToken stop = default)
    {
        if (!StoredEvent.IsContractId(contract)) { return null; }
        await using var command = source.CreateCommand(known.Size is null ? One : OneSealed);
        command.Parameters.Add(new NpgsqlParameter<string> { TypedValue = contract });
        command.Parameters.Add(Parameter(known));
        var entries = new List<Recorded>();
        await using var reader = await command.ExecuteReaderAsync(stop).ConfigureAwait(false);
        while (await reader.ReadAsync(stop).ConfigureAwait(false)) { entries.Add(RowReader.Read(reader)); }
        return entries.Count == 0 ? null : ContractHistory.Of(contract, entries);
    }

    /// <summary>One contract with the present moment and the rates, by one round trip: what asking for each of the three would answer.</summary>
    /// <param name="contract">Which contract. One that nobody may have has no history; its text is never looked up.</param>
    /// <param name="known">The state of knowledge, or null for the present moment.</param>
    /// <param name="stop">Gives up.</param>
    public Task<OneContract> OneAsync(string contract, Instant? known, CancellationToken stop = default) =>
        OneContract.ReadAsync(source, StoredEvent.IsContractId(contract) ? contract : "", known, stop);

    /// <summary>The histories of the next contracts after an id, in the order of ids, as known at a moment.</summary>
    /// <param name="known">The state of knowledge.</param>
    /// <param name="after">The id before the first one; empty for the first of all.</param>
    /// <param name="count">How many contracts to look at. Those of which nothing was known then are looked at and left out.</param>
    /// <param name="stop">Gives up.</param>
    /// <returns>The histories, and the last id looked at; null where there are no more.</returns>
    public async Task<(IReadOnlyList<ContractHistory> Histories, string? Last)> NextAsync(
        KnownAt known, string after, int count, CancellationToken stop = default)
    {
        var ids = new List<string>();
        await using (var names = source.CreateCommand("select id from contracts.mt_streams where id > $1 and id !~ '[:_]' order by id limit $2"))
        {
            names.Parameters.Add(new NpgsqlParameter<string> { TypedValue = after });
            names.Parameters.Add(new NpgsqlParameter<int> { TypedValue = count });
            await using var found = await names.ExecuteReaderAsync(stop).ConfigureAwait(false);
            while (await found.ReadAsync(stop).ConfigureAwait(false)) { ids.Add(found.GetString(0)); }
        }

        return ids.Count == 0 ? ([], null) : (await SeveralAsync(ids, known, stop).ConfigureAwait(false), ids[^1]);
    }

    /// <summary>The histories of a household's contracts in the order of their ids, as known at a moment; none where it is not known.</summary>
    public async Task<IReadOnlyList<ContractHistory>> OfHouseholdAsync(string household, KnownAt known, CancellationToken stop = default)
    {
        var ids = new List<string>();
        await using (var names = source.CreateCommand("select e.stream_id from contracts.mt_events e where e.type = 'signed' and e.data->>'household' = $1 order by 1"))
        {
            names.Parameters.Add(new NpgsqlParameter<string> { TypedValue = household });
            await using var found = await names.ExecuteReaderAsync(stop).ConfigureAwait(false);
            while (await found.ReadAsync(stop).ConfigureAwait(false)) { ids.Add(found.GetString(0)); }
        }

        return ids.Count == 0 ? [] : await SeveralAsync(ids, known, stop).ConfigureAwait(false);
    }

    private async Task<IReadOnlyList<ContractHistory>> SeveralAsync(List<string> ids, KnownAt known, CancellationToken stop)
    {
        await using var command = source.CreateCommand(known.Size is null ? Several : SeveralSealed);
        command.Parameters.Add(new NpgsqlParameter<string[]> { TypedValue = [.. ids] });
        command.Parameters.Add(Parameter(known));
        var entries = new List<(string Contract, Recorded Entry)>();
        await using var reader = await command.ExecuteReaderAsync(stop).ConfigureAwait(false);
        while (await reader.ReadAsync(stop).ConfigureAwait(false)) { entries.Add((reader.GetString(0), RowReader.Read(reader))); }
        return [.. entries.GroupBy(one => one.Contract, one => one.Entry).Select(one => ContractHistory.Of(one.Key, [.. one]))];
    }

    /// <summary>How many contracts the store has.</summary>
    public async Task<long> CountAsync(CancellationToken stop = default)
    {
        await using var command = source.CreateCommand("select count(*) from contracts.mt_streams where id !~ '[:_]'");
        return (long)(await command.ExecuteScalarAsync(stop).ConfigureAwait(false))!;
    }

    /// <summary>Every contract known at a moment, ordered by ordinal comparison of the ids; memory stays flat.</summary>
    public IAsyncEnumerable<ContractHistory> HistoriesAsync(KnownAt known, CancellationToken stop = default) =>
        MapHistoriesAsync(known, static history => history, stop);

    /// <summary>Every contract at later and later moments, each question reading only what is new; for a run through many simulated days.</summary>
    public HistoryMemory Remember() => new(source, this);

    /// <summary>The same with work done on each history, on two workers; the results keep the order of the ids.</summary>
    public async IAsyncEnumerable<TResult> MapHistoriesAsync<TResult>(
        KnownAt known, Func<ContractHistory, TResult> map, [EnumeratorCancellation] CancellationToken stop = default)
    {
        var portfolio = new PortfolioRead<TResult>(source, known with { At = Moments.ToMicroseconds(known.At) }, map);
        await foreach (var results in portfolio.RunAsync(stop).ConfigureAwait(false))
        {
            foreach (var result in results) { yield return result; }
        }
    }

    private static NpgsqlParameter Parameter(KnownAt known) => known.Size is { } size
        ? new NpgsqlParameter<long> { TypedValue = size }
        : new NpgsqlParameter<Instant> { TypedValue = Moments.ToMicroseconds(known.At) };
}
