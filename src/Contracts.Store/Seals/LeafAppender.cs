using Contracts.Seals;
using Npgsql;
using NpgsqlTypes;

namespace Contracts.Store.Seals;

/// <summary>Appends leaves with all that follows from them: the stored nodes, the root, and the numbers passed over.</summary>
internal sealed class LeafAppender(NpgsqlConnection connection, Action<SealStep> step)
{
    private const int Height = 8;

    /// <summary>The edge of the log as it stands; refused where the stored hashes do not lead to the stored root.</summary>
    public async Task<CompactRange> EdgeAsync(CancellationToken stop)
    {
        await using var command = new NpgsqlCommand(
            "select coalesce(max(leaf_index) + 1, 0), (select root from audit.root order by size desc limit 1) from audit.leaf", connection);
        long size;
        byte[]? root;
        await using (var reader = await command.ExecuteReaderAsync(stop).ConfigureAwait(false))
        {
            await reader.ReadAsync(stop).ConfigureAwait(false);
            (size, root) = (reader.GetInt64(0), reader.IsDBNull(1) ? null : reader.GetFieldValue<byte[]>(1));
        }

        if (size == 0) { return new CompactRange(); }
        var edge = CompactRange.From(await StoredNodes.ReadAsync(connection, NodeId.Cover(0, size), stop).ConfigureAwait(false), size);
        return root is not null && edge.Root() == new Digest(root)
            ? edge
            : throw new StoreException("The hashes of the seals do not lead to their root: they were altered, and nothing is built on them. Run `contracts check`.");
    }

    /// <summary>Appends the leaves behind the edge and answers the new root.</summary>
    public async Task<Digest> AppendAsync(CompactRange edge, IReadOnlyList<NewLeaf> leaves, CancellationToken stop)
    {
        var nodes = new List<(NodeId Id, Digest Hash)>();
        await using (var copy = await connection.BeginBinaryImportAsync(
            "copy audit.leaf (leaf_index, kind, event_seq, stream, version, leaf_hash, entry) from stdin (format binary)", stop).ConfigureAwait(false))
        {
            foreach (var leaf in leaves)
            {
                await copy.StartRowAsync(stop).ConfigureAwait(false);
                await copy.WriteAsync(edge.Size, NpgsqlDbType.Bigint, stop).ConfigureAwait(false);
                await copy.WriteAsync(leaf.Kind, NpgsqlDbType.Text, stop).ConfigureAwait(false);
                await WriteAsync(copy, leaf.Sequence, stop).ConfigureAwait(false);
                if (leaf.Stream is null) { await copy.WriteNullAsync(stop).ConfigureAwait(false); }
                else { await copy.WriteAsync(leaf.Stream, NpgsqlDbType.Text, stop).ConfigureAwait(false); }
                await WriteAsync(copy, leaf.Version, stop).ConfigureAwait(false);
                await copy.WriteAsync(leaf.Hash.ToBytes(), NpgsqlDbType.Bytea, stop).ConfigureAwait(false);
                await copy.WriteAsync(leaf.Entry, NpgsqlDbType.Bytea, stop).ConfigureAwait(false);
                edge.Append(leaf.Hash, (id, hash) =>
                {
                    if (id.Level > 0 && id.Level % Height == 0) { nodes.Add((id, hash)); }
                });
            }

            await copy.CompleteAsync(stop).ConfigureAwait(false);
        }

        step(SealStep.LeavesWritten);
        if (nodes.Count > 0)
        {
            await RunAsync(
                "insert into audit.node (level, idx, hash) select * from unnest($1, $2, $3)", stop,
                Array(nodes.Select(node => (short)node.Id.Level)), Array(nodes.Select(node => node.Id.Index)),
                Array(nodes.Select(node => node.Hash.ToBytes()))).ConfigureAwait(false);
        }

        step(SealStep.NodesWritten);
        var root = edge.Root();
        await RunAsync(
            "insert into audit.root (size, root, previous) values ($1, $2, (select max(size) from audit.root))", stop,
            new NpgsqlParameter<long> { TypedValue = edge.Size }, new NpgsqlParameter<byte[]> { TypedValue = root.ToBytes() }).ConfigureAwait(false);
        step(SealStep.RootWritten);
        return root;
    }

    /// <summary>Notes the numbers after <paramref name="after"/> that were passed over, up to the largest that was seen.</summary>
    public async Task NoteHolesAsync(long after, long last, IEnumerable<long> seal, CancellationToken stop)
    {
        var holes = new List<(long First, long Last)>();
        foreach (var sequence in seal.Where(number => number > after).Order())
        {
            if (sequence > after + 1) { holes.Add((after + 1, sequence - 1)); }
            after = sequence;
        }

        if (last > after) { holes.Add((after + 1, last)); }
        if (holes.Count == 0) { return; }
        await RunAsync(
            "insert into audit.hole (first, last) select * from unnest($1, $2)", stop,
            Array(holes.Select(hole => hole.First)), Array(holes.Select(hole => hole.Last))).ConfigureAwait(false);
    }

    public async Task RunAsync(string sql, CancellationToken stop, params NpgsqlParameter[] parameters)
    {
        await using var command = new NpgsqlCommand(sql, connection);
        command.Parameters.AddRange(parameters);
        await command.ExecuteNonQueryAsync(stop).ConfigureAwait(false);
    }

    private static async Task WriteAsync(NpgsqlBinaryImporter copy, long? value, CancellationToken stop)
    {
        if (value is { } number) { await copy.WriteAsync(number, NpgsqlDbType.Bigint, stop).ConfigureAwait(false); }
        else { await copy.WriteNullAsync(stop).ConfigureAwait(false); }
    }

    private static NpgsqlParameter<T[]> Array<T>(IEnumerable<T> values) => new() { TypedValue = [.. values] };
}
