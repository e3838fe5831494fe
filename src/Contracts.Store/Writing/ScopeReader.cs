using System.Collections.Immutable;
using Contracts.History;
using Contracts.Store.Books;
using Contracts.Store.Json;
using Contracts.Store.Reading;
using Contracts.Store.Setup;
using Contracts.Terms;
using NodaTime;
using NodaTime.Text;
using Npgsql;

namespace Contracts.Store.Writing;

/// <summary>The statements a writing transaction reads with; what belongs together goes in one round trip.</summary>
internal sealed class ScopeReader(
    NpgsqlConnection connection, NpgsqlTransaction transaction,
    Dictionary<string, Known> contracts, Dictionary<string, string?> holders)
{
    // The lock is a statement of its own: each later one then sees all that was committed before it was granted,
    // and reads the time after it.
    private static readonly string Lock = $"select pg_advisory_xact_lock({StoreSchema.WriterLock})";

    private const string Taken = "returning last, clock_timestamp(), revision, simulated";

    private const string RealTime = $"""
        update contracts.clock set revision = revision + 1, last = greatest(last, clock_timestamp()) {Taken}
        """;

    // A store that has recorded anything by a real clock stays real: the flag is only set while nothing is recorded.
    private const string SimulatedTime = $"""
        update contracts.clock set revision = revision + 1, simulated = simulated or last = '1970-01-01Z' {Taken}
        """;

    private const string StoresOwnTime = $"""
        update contracts.clock
        set revision = revision + 1, last = case when simulated then last else greatest(last, clock_timestamp()) end {Taken}
        """;

    private const string NextSequence = """
        select case when is_called then last_value + 1 else last_value end,
               (select (max(month) + interval '1 month')::date from contracts.periods)
        from contracts.mt_events_sequence
        """;

    private const string Keys = """
        select key, recorded_at, coalesce((outcome->>'events')::int, 0) from contracts.command_keys where key = any($1)
        """;

    private const string Streams = $"""
        select {StoredEvent.Columns} from contracts.mt_events e where e.stream_id = any($1) order by e.stream_id, e.version
        """;

    private const string PlacementsOf = "select serial, contract from contracts.placements where contract = any($1)";

    private const string HoldersOf = "select serial, contract from contracts.placements where serial = any($1)";

    public async Task<ClockReading> BeginAsync(
        ClockMode mode, Needs needs, string[] missing, Dictionary<string, CommandResult.Already> applied, CancellationToken stop)
    {
        await using var batch = new NpgsqlBatch(connection, transaction);
        batch.BatchCommands.Add(new NpgsqlBatchCommand(Lock));
        batch.BatchCommands.Add(new NpgsqlBatchCommand(TimeBy(mode)));
        batch.BatchCommands.Add(new NpgsqlBatchCommand(NextSequence));
        batch.BatchCommands.Add(With(Keys, needs.Keys));
        batch.BatchCommands.Add(With(HoldersOf, needs.Serials));
        AddStreams(batch, missing);
        await using var reader = await batch.ExecuteReaderAsync(stop).ConfigureAwait(false);
        var clock = await ReadClockAsync(reader, stop).ConfigureAwait(false);
        await reader.NextResultAsync(stop).ConfigureAwait(false);
        while (await reader.ReadAsync(stop).ConfigureAwait(false))
        {
            applied[reader.GetString(0)] = new CommandResult.Already(reader.GetFieldValue<Instant>(1), reader.GetInt32(2));
        }

        await reader.NextResultAsync(stop).ConfigureAwait(false);
        foreach (var serial in needs.Serials) { holders[serial] = null; }
        while (await reader.ReadAsync(stop).ConfigureAwait(false)) { holders[reader.GetString(0)] = reader.GetString(1); }
        await ReadStreamsAsync(reader, missing, stop).ConfigureAwait(false);
        return clock;
    }

    private static async Task<ClockReading> ReadClockAsync(NpgsqlDataReader reader, CancellationToken stop)
    {
        await reader.NextResultAsync(stop).ConfigureAwait(false);
        await reader.ReadAsync(stop).ConfigureAwait(false);
        var (last, now) = (reader.GetFieldValue<Instant>(0), reader.GetFieldValue<Instant>(1));
        var (revision, simulated) = (reader.GetInt64(2), reader.GetBoolean(3));
        await reader.NextResultAsync(stop).ConfigureAwait(false);
        await reader.ReadAsync(stop).ConfigureAwait(false);
        LocalDate? openFrom = reader.IsDBNull(1) ? null : reader.GetFieldValue<LocalDate>(1);
        return new ClockReading(last, now, revision, simulated, reader.GetInt64(0), openFrom);
    }

    public async Task LoadAsync(string[] ids, CancellationToken stop)
    {
        if (ids.Length == 0) { return; }
        await using var batch = new NpgsqlBatch(connection, transaction);
        AddStreams(batch, ids);
        await using var reader = await batch.ExecuteReaderAsync(stop).ConfigureAwait(false);
        await ReadStreamsAsync(reader, ids, stop, first: true).ConfigureAwait(false);
    }

    public async Task<ReferenceData> RatesAsync(CancellationToken stop)
    {
        await using var command = new NpgsqlCommand(RateRows.All, connection, transaction);
        return await RateRows.ReadAsync(command, stop).ConfigureAwait(false);
    }

    public async Task<ImmutableDictionary<string, YearMonth>> ShopsAsync(CancellationToken stop)
    {
        await using var command = new NpgsqlCommand(
            "select e.data from contracts.mt_events e where e.stream_id = $1 order by e.version", connection, transaction);
        command.Parameters.Add(new NpgsqlParameter<string> { TypedValue = BookStreams.Calendars });
        var shops = ImmutableDictionary.CreateBuilder<string, YearMonth>(StringComparer.Ordinal);
        await using var reader = await command.ExecuteReaderAsync(stop).ConfigureAwait(false);
        while (await reader.ReadAsync(stop).ConfigureAwait(false))
        {
            var calendar = (CalendarSet)EventJson.Read("calendar_set"u8, reader.GetFieldValue<byte[]>(0));
            shops[calendar.Shop] = YearMonthPattern.Iso.Parse(calendar.FirstMonth).Value;
        }

        return shops.ToImmutable();
    }

    private static void AddStreams(NpgsqlBatch batch, string[] ids)
    {
        if (ids.Length == 0) { return; }
        batch.BatchCommands.Add(With(Streams, ids));
        batch.BatchCommands.Add(With(PlacementsOf, ids));
    }

    private async Task ReadStreamsAsync(NpgsqlDataReader reader, string[] ids, CancellationToken stop, bool first = false)
    {
        if (ids.Length == 0) { return; }
        if (!first) { await reader.NextResultAsync(stop).ConfigureAwait(false); }
        var streams = new Dictionary<string, List<Recorded>>(StringComparer.Ordinal);
        while (await reader.ReadAsync(stop).ConfigureAwait(false))
        {
            var id = reader.GetString(0);
            if (!streams.TryGetValue(id, out var entries)) { streams[id] = entries = []; }
            entries.Add(RowReader.Read(reader));
        }

        await reader.NextResultAsync(stop).ConfigureAwait(false);
        var placed = new Dictionary<string, string>(StringComparer.Ordinal);
        while (await reader.ReadAsync(stop).ConfigureAwait(false)) { placed[reader.GetString(1)] = reader.GetString(0); }
        foreach (var id in ids)
        {
            var history = streams.TryGetValue(id, out var entries) ? ContractHistory.Of(id, entries) : ContractHistory.Unsigned(id);
            contracts[id] = new Known(history, placed.GetValueOrDefault(id));
        }
    }

    private static string TimeBy(ClockMode mode) => mode switch
    {
        ClockMode.Real => RealTime,
        ClockMode.Simulated => SimulatedTime,
        _ => StoresOwnTime,
    };

    private static NpgsqlBatchCommand With(string sql, string[] values) =>
        new(sql) { Parameters = { new NpgsqlParameter<string[]> { TypedValue = values } } };
}
