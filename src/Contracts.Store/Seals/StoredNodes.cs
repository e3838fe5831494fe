using Contracts.Seals;
using Npgsql;

namespace Contracts.Store.Seals;

/// <summary>
/// The hashes of the tree as they are stored, read ahead: a proof names the subtrees that it needs, and one query brings
/// the leaves and the nodes at every eighth level that they are made of.
/// </summary>
internal sealed class StoredNodes : INodeReader
{
    private const int Height = 8;

    private const string Wanted = """
        select 0, l.leaf_index, l.leaf_hash from unnest($1, $2) as w (first, last) join audit.leaf l on l.leaf_index between w.first and w.last
        union all
        select n.level, n.idx, n.hash from unnest($3, $4, $5) as w (level, first, last)
            join audit.node n on n.level = w.level and n.idx between w.first and w.last
        """;

    private readonly Dictionary<NodeId, Digest> hashes = [];

    private StoredNodes()
    {
    }

    /// <summary>Reads what the nodes are made of.</summary>
    public static async Task<StoredNodes> ReadAsync(NpgsqlDataSource source, IReadOnlyList<NodeId> needed, CancellationToken stop)
    {
        await using var connection = await source.OpenConnectionAsync(stop).ConfigureAwait(false);
        return await ReadAsync(connection, needed, stop).ConfigureAwait(false);
    }

    /// <summary>The same on a connection that is in use, so that a transaction sees its own.</summary>
    public static async Task<StoredNodes> ReadAsync(NpgsqlConnection connection, IReadOnlyList<NodeId> needed, CancellationToken stop)
    {
        var stored = needed.Select(Below).ToList();
        var (leaves, nodes) = (stored.Where(one => one.Level == 0).ToList(), stored.Where(one => one.Level > 0).ToList());
        await using var command = new NpgsqlCommand(Wanted, connection);
        Add(command, leaves.Select(one => one.First));
        Add(command, leaves.Select(one => one.Last));
        Add(command, nodes.Select(one => (short)one.Level));
        Add(command, nodes.Select(one => one.First));
        Add(command, nodes.Select(one => one.Last));
        var found = new StoredNodes();
        await using var reader = await command.ExecuteReaderAsync(stop).ConfigureAwait(false);
        while (await reader.ReadAsync(stop).ConfigureAwait(false))
        {
            found.hashes[new NodeId(reader.GetInt32(0), reader.GetInt64(1))] = new Digest(reader.GetFieldValue<byte[]>(2));
        }

        return found;
    }

    public Digest Node(NodeId node)
    {
        var (level, first, last) = Below(node);
        if (first == last) { return Stored(new NodeId(level, first)); }
        var below = new Digest[last - first + 1];
        for (var at = first; at <= last; at++) { below[at - first] = Stored(new NodeId(level, at)); }
        return MerkleTree.Root(below);
    }

    private Digest Stored(NodeId node) => hashes.TryGetValue(node, out var hash)
        ? hash
        : throw new StoreException($"The seals lack the hash of node {node.Index} at level {node.Level}. Run `contracts check`.");

    /// <summary>The stored hashes, at the nearest stored level, that a node is made of.</summary>
    private static (int Level, long First, long Last) Below(NodeId node)
    {
        var level = node.Level / Height * Height;
        var first = node.Index << (node.Level - level);
        return (level, first, first + (1L << (node.Level - level)) - 1);
    }

    private static void Add<T>(NpgsqlCommand command, IEnumerable<T> values) => command.Parameters.Add(new NpgsqlParameter<T[]> { TypedValue = [.. values] });
}
