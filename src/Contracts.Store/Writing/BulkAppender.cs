using NodaTime;
using Npgsql;
using NpgsqlTypes;

namespace Contracts.Store.Writing;

/// <summary>
/// Writes what a large batch decided into Marten's tables, row for row as Marten's own append does, in one round trip.
/// A Marten session makes one statement for each event; see docs/decisions/0009.
/// </summary>
internal static class BulkAppender
{
    private const string StartStreams = """
        insert into contracts.mt_streams (id, version, timestamp, created, tenant_id)
        select id, version, at, at, '*DEFAULT*' from unnest($1, $2, $3) as new (id, version, at)
        """;

    private const string AdvanceStreams = """
        update contracts.mt_streams s set version = new.version, timestamp = new.at
        from unnest($1, $2, $3, $4) as new (id, version, at, before)
        where s.id = new.id and s.version = new.before
        """;

    private const string CopyEvents = """
        copy contracts.mt_events
            (seq_id, id, stream_id, version, data, type, timestamp, tenant_id, mt_dotnet_type, headers, is_archived)
        from stdin (format binary)
        """;

    private const string InsertKeys = """
        insert into contracts.command_keys (key, contract, recorded_at, outcome)
        select k, c, a, jsonb_build_object('events', n) from unnest($1, $2, $3, $4) as new (k, c, a, n)
        """;

    public static async Task AppendAsync(WriteScope scope, Findings findings, CancellationToken stop)
    {
        var connection = scope.Transaction.Connection!;
        var rows = await EventRows.OfAsync(scope, findings, stop).ConfigureAwait(false);
        await AddStreamsAsync(new NpgsqlBatch(connection, scope.Transaction), rows, stop).ConfigureAwait(false);
        if (findings.Events.Count > 0) { await CopyAsync(connection, rows, stop).ConfigureAwait(false); }
        await AddRestAsync(new NpgsqlBatch(connection, scope.Transaction), findings, stop).ConfigureAwait(false);
    }

    private static async Task AddStreamsAsync(NpgsqlBatch batch, EventRows rows, CancellationToken stop)
    {
        await using var whole = batch.ConfigureAwait(false);
        var started = rows.Streams.Where(pair => pair.Value.Before == 0).ToList();
        var advanced = rows.Streams.Where(pair => pair.Value.Before > 0).ToList();
        var advance = advanced.Count == 0 ? null : Advance(advanced);
        if (started.Count > 0) { batch.BatchCommands.Add(Start(started)); }
        if (advance is not null) { batch.BatchCommands.Add(advance); }
        if (batch.BatchCommands.Count > 0) { await batch.ExecuteNonQueryAsync(stop).ConfigureAwait(false); }
        if (advance is not null && advance.RecordsAffected != advanced.Count) { throw new StreamMovedException(); }
    }

    private static NpgsqlBatchCommand Start(List<KeyValuePair<string, StreamStep>> streams) => With(
        StartStreams,
        Array(streams.Select(pair => pair.Key)), Array(streams.Select(pair => pair.Value.Now)), Array(streams.Select(pair => pair.Value.At)));

    private static NpgsqlBatchCommand Advance(List<KeyValuePair<string, StreamStep>> streams) => With(
        AdvanceStreams,
        Array(streams.Select(pair => pair.Key)), Array(streams.Select(pair => pair.Value.Now)),
        Array(streams.Select(pair => pair.Value.At)), Array(streams.Select(pair => pair.Value.Before)));

    /// <summary>The rows as COPY takes them: half the server's work of an insert from arrays.</summary>
    private static async Task CopyAsync(NpgsqlConnection connection, EventRows rows, CancellationToken stop)
    {
        await using var copy = await connection.BeginBinaryImportAsync(CopyEvents, stop).ConfigureAwait(false);
        for (var index = 0; index < rows.Sequences.Count; index++)
        {
            await copy.StartRowAsync(stop).ConfigureAwait(false);
            await copy.WriteAsync(rows.Sequences[index], stop).ConfigureAwait(false);
            await copy.WriteAsync(rows.Ids[index], stop).ConfigureAwait(false);
            await copy.WriteAsync(rows.StreamIds[index], stop).ConfigureAwait(false);
            await copy.WriteAsync(rows.Versions[index], stop).ConfigureAwait(false);
            await copy.WriteAsync(rows.Data[index], NpgsqlDbType.Jsonb, stop).ConfigureAwait(false);
            await copy.WriteAsync(rows.Types[index], stop).ConfigureAwait(false);
            await copy.WriteAsync(rows.Moments[index], stop).ConfigureAwait(false);
            await copy.WriteAsync("*DEFAULT*", stop).ConfigureAwait(false);
            await copy.WriteAsync(rows.DotNetTypes[index], stop).ConfigureAwait(false);
            await copy.WriteAsync(rows.Headers[index], NpgsqlDbType.Jsonb, stop).ConfigureAwait(false);
            await copy.WriteAsync(false, stop).ConfigureAwait(false);
        }

        await copy.CompleteAsync(stop).ConfigureAwait(false);
    }

    private static async Task AddRestAsync(NpgsqlBatch batch, Findings findings, CancellationToken stop)
    {
        await using var whole = batch.ConfigureAwait(false);
        if (findings.Events.Count > 0)
        {
            // The writer lock keeps the sequence ours, so the numbers were given out before they were drawn.
            batch.BatchCommands.Add(With(
                "select setval('contracts.mt_events_sequence', $1)", new NpgsqlParameter<long> { TypedValue = findings.Events[^1].Sequence }));
        }

        if (findings.Keys.Count > 0)
        {
            batch.BatchCommands.Add(With(
                InsertKeys,
                Array(findings.Keys.Select(key => key.Key)), Array(findings.Keys.Select(key => key.Contract)),
                Array(findings.Keys.Select(key => key.At)), Array(findings.Keys.Select(key => key.Events))));
        }

        if (findings.Released.Count > 0)
        {
            batch.BatchCommands.Add(With("delete from contracts.placements where serial = any($1)", Array(findings.Released)));
        }

        if (findings.Placed.Count > 0)
        {
            batch.BatchCommands.Add(With(
                "insert into contracts.placements (serial, contract) select * from unnest($1, $2)",
                Array(findings.Placed.Keys), Array(findings.Placed.Values)));
        }

        if (findings.ClockTo is { } moment)
        {
            batch.BatchCommands.Add(With(
                "update contracts.clock set last = $1", new NpgsqlParameter<Instant> { TypedValue = moment }));
        }

        if (batch.BatchCommands.Count > 0) { await batch.ExecuteNonQueryAsync(stop).ConfigureAwait(false); }
    }

    private static NpgsqlBatchCommand With(string sql, params ReadOnlySpan<NpgsqlParameter> parameters)
    {
        var command = new NpgsqlBatchCommand(sql);
        foreach (var parameter in parameters) { command.Parameters.Add(parameter); }
        return command;
    }

    private static NpgsqlParameter<T[]> Array<T>(IEnumerable<T> values) => new() { TypedValue = [.. values] };
}

/// <summary>A stream is not at the version the batch was decided on: it is decided again.</summary>
internal sealed class StreamMovedException : Exception;
