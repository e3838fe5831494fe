using Contracts.Seals;
using NodaTime;
using Npgsql;

namespace Contracts.Store.Seals;

internal sealed record StoredRoot(long Size, Digest Root, long? Previous);

internal sealed record StoredNote(long Size, Digest Root, string Note, long? Previous);

internal sealed record StoredAnchor(string Reason, string? Period, Instant At);

/// <summary>The small tables of the seals, read whole for a check.</summary>
internal sealed record SealTables(
    string Origin,
    IReadOnlyList<NoteVerifier> Keys,
    SortedDictionary<long, StoredRoot> Roots,
    SortedDictionary<long, StoredNote> Checkpoints,
    Dictionary<long, StoredAnchor> Anchors,
    Dictionary<NodeId, Digest> Nodes,
    IReadOnlyList<(long First, long Last)> Holes)
{
    /// <summary>Reads them and says what of the log's name and keys is not as the signer has it.</summary>
    public static async Task<SealTables> ReadAsync(
        NpgsqlConnection connection, SignerState? signer, SealAuditReport report, CancellationToken stop)
    {
        var origins = await ListAsync(connection, "select origin from audit.log", row => row.GetString(0), stop).ConfigureAwait(false);
        if (origins.Count != 1) { report.Add("log-name-missing", "audit.log", null, "row", "The log has no name."); }
        var origin = origins.Count == 0 ? "" : origins[0];
        if (signer is not null && signer.Key.Name != origin)
        {
            report.Add("log-name-differs", "audit.log", null, "origin", $"The log is called {origin}, and the signer signs for {signer.Key.Name}.");
        }

        var keys = new List<NoteVerifier>();
        var number = 0;
        var stated = await ListAsync(
            connection, "select number, vkey from audit.key order by number", row => (row.GetInt32(0), row.GetString(1)), stop).ConfigureAwait(false);
        foreach (var (stored, vkey) in stated)
        {
            if (stored != number++) { report.Add("key-differs", "audit.key", stored, "number", "The keys are not numbered without a gap."); }
            if (NoteVerifier.Parse(vkey).TryGet(out var key, out var fault)) { keys.Add(key); }
            else { report.Add("key-differs", "audit.key", stored, "vkey", fault.Detail); }
        }

        if (signer is { Size: > 0 } && !keys.Exists(key => key.VKey == signer.Key.VKey))
        {
            report.Add("key-differs", "audit.key", 0, "vkey", $"The signer signs with {signer.Key.VKey}, which is not stored as the log's key.");
        }

        // What the signer says of its key is worth more than what the database says of it.
        IReadOnlyList<NoteVerifier> trusted = signer is null ? keys : [signer.Key];
        var roots = await ListAsync(
            connection, "select size, root, previous from audit.root",
            row => new StoredRoot(row.GetInt64(0), Hash(row, 1), row.IsDBNull(2) ? null : row.GetInt64(2)), stop).ConfigureAwait(false);
        var notes = await ListAsync(
            connection, "select size, root, note, previous from audit.checkpoint",
            row => new StoredNote(row.GetInt64(0), Hash(row, 1), row.GetString(2), row.IsDBNull(3) ? null : row.GetInt64(3)), stop).ConfigureAwait(false);
        var anchors = await ListAsync(
            connection, "select leaf_index, reason, period, case when at between '0001-01-01Z' and '9999-12-30Z' then at end from audit.anchor",
            row => (Index: row.GetInt64(0), Row: new StoredAnchor(
                row.GetString(1), row.IsDBNull(2) ? null : row.GetString(2), row.IsDBNull(3) ? Instant.MaxValue : row.GetFieldValue<Instant>(3))), stop).ConfigureAwait(false);
        var nodes = await ListAsync(
            connection, "select level, idx, hash from audit.node", row => (Id: new NodeId(row.GetInt16(0), row.GetInt64(1)), Hash: Hash(row, 2)), stop).ConfigureAwait(false);
        var holes = await ListAsync(
            connection, "select first, last from audit.hole order by first", row => (row.GetInt64(0), row.GetInt64(1)), stop).ConfigureAwait(false);
        return new SealTables(
            origin, trusted, new(roots.ToDictionary(row => row.Size)), new(notes.ToDictionary(row => row.Size)),
            anchors.ToDictionary(one => one.Index, one => one.Row), nodes.ToDictionary(one => one.Id, one => one.Hash), holes);
    }

    private static Digest Hash(NpgsqlDataReader row, int column) =>
        row.GetFieldValue<byte[]>(column) is { Length: Digest.Length } bytes ? new Digest(bytes) : default;

    private static async Task<List<T>> ListAsync<T>(NpgsqlConnection connection, string sql, Func<NpgsqlDataReader, T> read, CancellationToken stop)
    {
        var list = new List<T>();
        await using var command = new NpgsqlCommand(sql, connection) { CommandTimeout = 0 };
        await using var reader = await command.ExecuteReaderAsync(stop).ConfigureAwait(false);
        while (await reader.ReadAsync(stop).ConfigureAwait(false)) { list.Add(read(reader)); }
        return list;
    }
}
