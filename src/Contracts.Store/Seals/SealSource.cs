using Contracts.Seals;
using Npgsql;

namespace Contracts.Store.Seals;

/// <summary>The events that have no leaf yet, and the heads of their streams.</summary>
internal sealed class SealSource(NpgsqlConnection connection)
{
    private const string Unsealed = "not exists (select from audit.leaf l where l.event_seq = e.seq_id)";

    /// <summary>Above every number that was sealed or noted as passed over, rows are new; below they are looked for by number.</summary>
    private const string After = """
        select greatest(coalesce((select max(event_seq) from audit.leaf), 0), coalesce((select max(last) from audit.hole), 0))
        """;

    private const string New = $"select {SealRow.Columns} from contracts.mt_events e where e.seq_id > $1 order by e.seq_id limit $2";

    private const string Late = $"""
        select {SealRow.Columns} from audit.hole h join contracts.mt_events e on e.seq_id between h.first and h.last where {Unsealed}
        union all
        select {SealRow.Columns} from contracts.mt_events e where e.seq_id < 1 and {Unsealed}
        limit $1
        """;

    private const string Heads = """
        select s.id, l.version, l.leaf_hash from unnest($1) as s (id)
        cross join lateral (select version, leaf_hash from audit.leaf where stream = s.id order by version desc limit 1) l
        """;

    private const string Predecessors = $"""
        select {SealRow.Columns} from unnest($1, $2, $3) as w (id, after, before)
        join contracts.mt_events e on e.stream_id = w.id and e.version > w.after and e.version < w.before
        where {Unsealed}
        """;

    /// <summary>The number up to which everything is sealed or noted.</summary>
    public async Task<long> AfterAsync(CancellationToken stop)
    {
        await using var command = new NpgsqlCommand(After, connection);
        return (long)(await command.ExecuteScalarAsync(stop).ConfigureAwait(false))!;
    }

    /// <summary>Rows without a leaf: the new ones in their order, and late ones among the numbers passed over.</summary>
    public async Task<(List<SealRow> Rows, bool IsFull)> RowsAsync(long after, int most, CancellationToken stop)
    {
        var rows = await ReadAsync(New, stop, new NpgsqlParameter<long> { TypedValue = after }, new NpgsqlParameter<int> { TypedValue = most }).ConfigureAwait(false);
        var full = rows.Count == most;
        rows.AddRange(await ReadAsync(Late, stop, new NpgsqlParameter<int> { TypedValue = most }).ConfigureAwait(false));
        return (rows, full);
    }

    /// <summary>The last sealed event of each of these streams that has one.</summary>
    public async Task<Dictionary<string, StreamHead>> HeadsAsync(IEnumerable<string> streams, CancellationToken stop)
    {
        var heads = new Dictionary<string, StreamHead>(StringComparer.Ordinal);
        await using var command = new NpgsqlCommand(Heads, connection);
        command.Parameters.Add(new NpgsqlParameter<string[]> { TypedValue = [.. streams] });
        await using var reader = await command.ExecuteReaderAsync(stop).ConfigureAwait(false);
        while (await reader.ReadAsync(stop).ConfigureAwait(false))
        {
            heads[reader.GetString(0)] = new StreamHead(reader.GetInt64(1), new Digest(reader.GetFieldValue<byte[]>(2)));
        }

        return heads;
    }

    /// <summary>Earlier versions of the batch's streams that hold larger numbers than the batch came to.</summary>
    public async Task<List<SealRow>> PredecessorsAsync(
        IReadOnlyList<SealRow> rows, IReadOnlyDictionary<string, StreamHead> heads, CancellationToken stop)
    {
        var wanted = new List<(string Stream, long After, long Before)>();
        foreach (var group in rows.GroupBy(row => row.Stream, StringComparer.Ordinal))
        {
            var after = heads.GetValueOrDefault(group.Key).Version;
            foreach (var version in group.Select(row => row.Version).Order())
            {
                if (version > after + 1) { wanted.Add((group.Key, after, version)); }
                after = Math.Max(after, version);
            }
        }

        return wanted.Count == 0 ? [] : await ReadAsync(
            Predecessors, stop, Array(wanted.Select(one => one.Stream)), Array(wanted.Select(one => one.After)), Array(wanted.Select(one => one.Before))).ConfigureAwait(false);
    }

    private async Task<List<SealRow>> ReadAsync(string sql, CancellationToken stop, params NpgsqlParameter[] parameters)
    {
        var rows = new List<SealRow>();
        await using var command = new NpgsqlCommand(sql, connection) { CommandTimeout = 0 };
        command.Parameters.AddRange(parameters);
        await using var reader = await command.ExecuteReaderAsync(stop).ConfigureAwait(false);
        while (await reader.ReadAsync(stop).ConfigureAwait(false)) { rows.Add(SealRow.Read(reader)); }
        return rows;
    }

    private static NpgsqlParameter<T[]> Array<T>(IEnumerable<T> values) => new() { TypedValue = [.. values] };
}
