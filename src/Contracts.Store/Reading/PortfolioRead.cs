using System.Runtime.CompilerServices;
using Contracts.History;
using Contracts.Store.Writing;
using NodaTime;
using Npgsql;

namespace Contracts.Store.Reading;

/// <summary>
/// Reads the whole portfolio in ranges of contracts, two at a time and on one snapshot; the results come out in the
/// order of the ids. A range is bounded in events, so memory does not grow with the portfolio.
/// </summary>
internal sealed class PortfolioRead<TResult>(NpgsqlDataSource source, Instant known, Func<ContractHistory, TResult> map)
{
    private const int Workers = 2;

    /// <summary>About so many events make a range: some hundred megabytes while it is worked on.</summary>
    private const long EventsInRange = 600_000;

    private const string Boundaries = $"""
        select id from (
            select id, version, (sum(version) over (order by id))::bigint as total
            from contracts.mt_streams where {StoredEvent.IsContractId}) s
        where total / $1 <> (total - version) / $1 order by id
        """;

    public async IAsyncEnumerable<List<TResult>> RunAsync([EnumeratorCancellation] CancellationToken stop)
    {
        await using var connection = await source.OpenConnectionAsync(stop).ConfigureAwait(false);
        await using var transaction =
            await connection.BeginTransactionAsync(System.Data.IsolationLevel.RepeatableRead, stop).ConfigureAwait(false);
        var snapshot = await SnapshotAsync(connection, stop).ConfigureAwait(false);
        var bounds = await BoundsAsync(connection, stop).ConfigureAwait(false);
        using var ending = CancellationTokenSource.CreateLinkedTokenSource(stop);
        var running = new Queue<Task<List<TResult>>>();
        try
        {
            for (var next = 0; next < bounds.Count || running.Count > 0;)
            {
                while (running.Count < Workers && next < bounds.Count)
                {
                    var (from, before) = (bounds[next], ++next < bounds.Count ? bounds[next] : null);
                    running.Enqueue(Task.Run(() => ReadAsync(snapshot, from, before, ending.Token), CancellationToken.None));
                }

                yield return await running.Dequeue().ConfigureAwait(false);
            }
        }
        finally
        {
            // Also on the way out when the caller has had enough, or a worker failed: the snapshot outlives its readers.
            await ending.CancelAsync().ConfigureAwait(false);
            await Task.WhenAll(running.Cast<Task>()).ConfigureAwait(ConfigureAwaitOptions.SuppressThrowing);
        }
    }

    private static async Task<string> SnapshotAsync(NpgsqlConnection connection, CancellationToken stop)
    {
        await using var command = new NpgsqlCommand("select pg_export_snapshot()", connection);
        return (string)(await command.ExecuteScalarAsync(stop).ConfigureAwait(false))!;
    }

    /// <summary>The first id of each range; the first range begins below every id.</summary>
    private static async Task<List<string>> BoundsAsync(NpgsqlConnection connection, CancellationToken stop)
    {
        await using var command = new NpgsqlCommand(Boundaries, connection) { Parameters = { new() { Value = EventsInRange } } };
        await using var reader = await command.ExecuteReaderAsync(stop).ConfigureAwait(false);
        var bounds = new List<string> { "" };
        while (await reader.ReadAsync(stop).ConfigureAwait(false)) { bounds.Add(reader.GetString(0)); }
        return bounds;
    }

    private async Task<List<TResult>> ReadAsync(string snapshot, string from, string? before, CancellationToken stop)
    {
        var rows = new RangeRows();
        await using (var connection = await source.OpenConnectionAsync(stop).ConfigureAwait(false))
        {
            await using var transaction =
                await connection.BeginTransactionAsync(System.Data.IsolationLevel.RepeatableRead, stop).ConfigureAwait(false);
            await using (var command = new NpgsqlCommand($"set transaction snapshot '{snapshot}'", connection))
            {
                await command.ExecuteNonQueryAsync(stop).ConfigureAwait(false);
            }

            await using var copy = await connection.BeginRawBinaryCopyAsync(Sql(from, before), stop).ConfigureAwait(false);
            rows.Fill(copy, stop);
        }

        return Map(rows, stop);
    }

    private List<TResult> Map(RangeRows rows, CancellationToken stop)
    {
        var ids = rows.InOrder();
        var results = new List<TResult>(ids.Length);
        var entries = new List<Recorded>();
        foreach (var id in ids)
        {
            stop.ThrowIfCancellationRequested();
            entries.Clear();
            foreach (var row in rows.Of(id)) { entries.Add(CopyRow.Read(row.Span)); }

            // The table mostly has them in their order already; it does not promise to.
            if (!IsOrdered(entries)) { entries.Sort((left, right) => left.Sequence.CompareTo(right.Sequence)); }
            results.Add(map(ContractHistory.Of(id, entries)));
        }

        return results;
    }

    private static bool IsOrdered(List<Recorded> entries)
    {
        for (var index = 1; index < entries.Count; index++)
        {
            if (entries[index].Sequence < entries[index - 1].Sequence) { return false; }
        }

        return true;
    }

    // COPY takes no parameters. The moment is formatted here; ids have letters, digits and hyphens only, and a stored
    // one with anything else is doubled where it could end the text.
    private string Sql(string from, string? before) => $"""
        copy (
            select {StoredEvent.Columns} from contracts.mt_events e
            where e.timestamp <= '{Moments.Text(known)}' and {StoredEvent.IsContract}
              and e.stream_id >= '{Quoted(from)}' {(before is null ? "" : $"and e.stream_id < '{Quoted(before)}'")}
        ) to stdout (format binary)
        """;

    private static string Quoted(string id) => id.Replace("'", "''", StringComparison.Ordinal);
}
