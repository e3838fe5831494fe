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
        from audit.leaf where kind = 'event' and leaf_index < $1 order by stream, version desc
        """;

    public static async Task<List<HeadEntry>> ReadAsync(NpgsqlConnection connection, long size, CancellationToken stop)
    {
        var heads = new List<HeadEntry>();
        await using var command = new NpgsqlCommand(Sql, connection) { CommandTimeout = 0 };
        command.Parameters.Add(new NpgsqlParameter<long> { TypedValue = size });
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
