using NodaTime;
using Npgsql;

namespace Contracts.Store.Writing;

/// <summary>
/// Writes what a large batch decided into Marten's tables, row for row as Marten's own append does.
/// A Marten session makes one statement for each event; see docs/decisions/0009.
/// </summary>
/// <param name="rows">The rows of the events, begun when the batch was.</param>
/// <param name="keys">Room for the rows of the keys.</param>
internal sealed class BulkAppender(EventRows rows, KeyRows keys)
{
    private const string StartStreams = $"""
        insert into contracts.mt_streams (id, version, timestamp, created, tenant_id)
        select id, version, at, at, '{EventRows.Tenant}' from unnest($1, $2, $3) as new (id, version, at)
        """;

    private const string AdvanceStreams = """
        update contracts.mt_streams s set version = new.version, timestamp = new.at
        from unnest($1, $2, $3, $4) as new (id, version, at, before)
        where s.id = new.id and s.version = new.before
        """;

    private const string CopyEvents = $"copy contracts.mt_events ({EventRows.Columns}) from stdin (format binary)";

    public async Task AppendAsync(WriteScope scope, Findings findings, CancellationToken stop)
    {
        await using var batch = new NpgsqlBatch(scope.Transaction.Connection!, scope.Transaction);
        var streams = await EventRows.StreamsAsync(scope, findings, stop).ConfigureAwait(false);
        var started = streams.Where(pair => pair.Value.Before == 0).ToList();
        var advanced = streams.Where(pair => pair.Value.Before > 0).ToList();
        var advance = advanced.Count == 0 ? null : Advance(advanced);
        if (started.Count > 0) { batch.BatchCommands.Add(Start(started)); }
        if (advance is not null) { batch.BatchCommands.Add(advance); }
        if (findings.Events.Count > 0) { batch.BatchCommands.Add(Draw(findings.Events[^1].Sequence)); }
        AddRest(batch, findings);
        var streamsWritten = batch.ExecuteNonQueryAsync(stop);
        CopyBuffer events, applied;
        try
        {
            // The rows are put together while the database is busy with the streams they belong to.
            events = await rows.FinishAsync(streams).ConfigureAwait(false);
            applied = keys.Fill(findings.Keys);
        }
        finally
        {
            await ((Task)streamsWritten).ConfigureAwait(ConfigureAwaitOptions.SuppressThrowing);
        }

        await streamsWritten.ConfigureAwait(false);
        if (advance is not null && advance.RecordsAffected != advanced.Count) { throw new StreamMovedException(); }
        if (events.Rows > 0) { await events.SendAsync(scope.Transaction.Connection!, CopyEvents, stop).ConfigureAwait(false); }
        if (applied.Rows > 0) { await applied.SendAsync(scope.Transaction.Connection!, KeyRows.Copy, stop).ConfigureAwait(false); }
    }

    private static NpgsqlBatchCommand Start(List<KeyValuePair<string, StreamStep>> streams) => With(
        StartStreams,
        Array(streams.Select(pair => pair.Key)), Array(streams.Select(pair => pair.Value.Now)), Array(streams.Select(pair => pair.Value.At)));

    private static NpgsqlBatchCommand Advance(List<KeyValuePair<string, StreamStep>> streams) => With(
        AdvanceStreams,
        Array(streams.Select(pair => pair.Key)), Array(streams.Select(pair => pair.Value.Now)),
        Array(streams.Select(pair => pair.Value.At)), Array(streams.Select(pair => pair.Value.Before)));

    /// <summary>The writer lock keeps the sequence ours, so the numbers were given out before they are drawn.</summary>
    private static NpgsqlBatchCommand Draw(long last) =>
        With("select setval('contracts.mt_events_sequence', $1)", new NpgsqlParameter<long> { TypedValue = last });

    private static void AddRest(NpgsqlBatch batch, Findings findings)
    {
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
