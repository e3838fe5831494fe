using Contracts.Seals;
using Npgsql;

namespace Contracts.Store.Seals;

/// <summary>The heads of all streams among the first leaves.</summary>
internal static class StoredHeads
{
    /// <summary>Marten's name for the one tenant of a store without several.</summary>
    public const string Tenant = "*DEFAULT*";

    private const string Sql = """
        select distinct on (stream) stream, version, leaf_index, leaf_hash
        from audit.leaf where kind = 'event' and leaf_index >= $2 and leaf_index < $1 order by stream, version desc
        """;

    /// <summary>The same from what is remembered and the leaves since, where the log still begins with what is remembered.</summary>
    public static async Task<IReadOnlyCollection<HeadEntry>> ReadAsync(NpgsqlConnection connection, long size, Digest root, HeadMemory memory, CancellationToken stop)
    {
        if (memory.Size > size || (memory.Size > 0 && await RootAsync(connection, memory.Size, stop).ConfigureAwait(false) != memory.Root)) { memory.Forget(); }
        if (memory.Size < size) { memory.Add(await SinceAsync(connection, memory.Size, size, stop).ConfigureAwait(false), size, root); }
        return memory.Heads;
    }

    private static async Task<Digest?> RootAsync(NpgsqlConnection connection, long size, CancellationToken stop)
    {
        await using var command = new NpgsqlCommand("select root from audit.root where size = $1", connection);
        command.Parameters.Add(new NpgsqlParameter<long> { TypedValue = size });
        return await command.ExecuteScalarAsync(stop).ConfigureAwait(false) is byte[] root ? new Digest(root) : null;
    }

    public static Task<List<HeadEntry>> ReadAsync(NpgsqlConnection connection, long size, CancellationToken stop) => SinceAsync(connection, 0, size, stop);

    private static async Task<List<HeadEntry>> SinceAsync(NpgsqlConnection connection, long from, long size, CancellationToken stop)
    {
        var heads = new List<HeadEntry>();
        await using var command = new NpgsqlCommand(Sql, connection) { CommandTimeout = 0 };
        command.Parameters.Add(new NpgsqlParameter<long> { TypedValue = size });
        command.Parameters.Add(new NpgsqlParameter<long> { TypedValue = from });
        await using var reader = await command.ExecuteReaderAsync(stop).ConfigureAwait(false);
        while (await reader.ReadAsync(stop).ConfigureAwait(false))
        {
            heads.Add(new HeadEntry
            {
                Tenant = Tenant,
                Stream = reader.GetString(0),
                StreamVersion = reader.GetInt64(1),
                Index = reader.GetInt64(2),
                Leaf = new Digest(reader.GetFieldValue<byte[]>(3)),
            });
        }

        return heads;
    }
}
