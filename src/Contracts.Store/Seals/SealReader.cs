using Contracts.Seals;
using NodaTime;
using Npgsql;

namespace Contracts.Store.Seals;

/// <summary>A signed head of the log as it is stored: its size, its root, and the note as text.</summary>
public sealed record StoredCheckpoint(long Size, Digest Root, string Note);

/// <summary>A leaf that is an event, with the bytes that its digests are over.</summary>
/// <param name="Index">The index of the leaf.</param>
/// <param name="Entry">What the leaf commits to.</param>
/// <param name="EntryBytes">The entry as canonical JSON: the leaf hash is over it.</param>
/// <param name="Payload">The payload of the event as canonical JSON: <see cref="EventEntry.Data"/> is over it.</param>
/// <param name="Headers">The headers as canonical JSON: <see cref="EventEntry.Headers"/> is over it.</param>
public sealed record SealedEvent(long Index, EventEntry Entry, byte[] EntryBytes, byte[] Payload, byte[] Headers);

/// <summary>An anchor and the index of its leaf; what it says of sizes is of the log before it.</summary>
public sealed record SealedAnchor(long Index, AnchorEntry Entry, byte[] EntryBytes);

/// <summary>
/// What is in the log, and proofs of it. Everything is asked through a size, so that the answer never changes: the first
/// so many leaves are what they are for ever.
/// </summary>
public sealed class SealReader
{
    private readonly NpgsqlDataSource source;

    internal SealReader(NpgsqlDataSource source) => this.source = source;

    /// <summary>The origin of the log: the name of its key.</summary>
    public async Task<string> OriginAsync(CancellationToken stop = default) =>
        await ScalarAsync<string>("select origin from audit.log", stop).ConfigureAwait(false) ?? throw new StoreException("The log has no name.");

    /// <summary>The public keys that have signed for the log, the first one first.</summary>
    public async Task<IReadOnlyList<NoteVerifier>> KeysAsync(CancellationToken stop = default)
    {
        var keys = new List<NoteVerifier>();
        await using var command = source.CreateCommand("select vkey from audit.key order by number");
        await using var reader = await command.ExecuteReaderAsync(stop).ConfigureAwait(false);
        while (await reader.ReadAsync(stop).ConfigureAwait(false)) { keys.Add(NoteVerifier.Parse(reader.GetString(0)).Value); }
        return keys;
    }

    /// <summary>How many leaves the log has, signed or not.</summary>
    public Task<long> SizeAsync(CancellationToken stop = default) =>
        ScalarAsync<long>("select coalesce(max(leaf_index) + 1, 0) from audit.leaf", stop);

    /// <summary>How many events were recorded after the last one that is sealed.</summary>
    public Task<long> WaitingAsync(CancellationToken stop = default) =>
        ScalarAsync<long>("select count(*) from contracts.mt_events where seq_id > coalesce((select max(event_seq) from audit.leaf), 0)", stop);

    /// <summary>The newest signed checkpoint, or null where nothing is signed.</summary>
    public Task<StoredCheckpoint?> LatestAsync(CancellationToken stop = default) =>
        CheckpointAsync("order by size desc limit 1", [], stop);

    /// <summary>The signed checkpoint of exactly this size, or null.</summary>
    public Task<StoredCheckpoint?> CheckpointAsync(long size, CancellationToken stop = default) =>
        CheckpointAsync("where size = $1", [new NpgsqlParameter<long> { TypedValue = size }], stop);

    /// <summary>The smallest signed checkpoint that has at least so many leaves, or null.</summary>
    public Task<StoredCheckpoint?> CheckpointFromAsync(long size, CancellationToken stop = default) =>
        CheckpointAsync("where size >= $1 order by size limit 1", [new NpgsqlParameter<long> { TypedValue = size }], stop);

    /// <summary>The signed checkpoints whose root begins like this, in hexadecimal or base64, the oldest first, at most three.</summary>
    public async Task<IReadOnlyList<StoredCheckpoint>> CheckpointsByRootAsync(string beginning, CancellationToken stop = default)
    {
        var found = new List<StoredCheckpoint>();
        await using var command = source.CreateCommand(
            "select size, root, note from audit.checkpoint where starts_with(encode(root, 'hex'), lower($1)) or starts_with(encode(root, 'base64'), $1) order by size limit 3");
        command.Parameters.Add(new NpgsqlParameter<string> { TypedValue = beginning });
        await using var reader = await command.ExecuteReaderAsync(stop).ConfigureAwait(false);
        while (await reader.ReadAsync(stop).ConfigureAwait(false)) { found.Add(Stored(reader)); }
        return found;
    }

    /// <summary>
    /// The events of a stream that are among the first <paramref name="size"/> leaves, in their versions' order, with the
    /// bytes behind their digests as the database has them now. A caller that hands them on verifies them as a stranger would.
    /// </summary>
    public async Task<IReadOnlyList<SealedEvent>> EventsAsync(string stream, long size, CancellationToken stop = default)
    {
        var events = new List<SealedEvent>();
        await using var command = source.CreateCommand("""
            select l.leaf_index, l.entry, e.data, e.headers
            from audit.leaf l join contracts.mt_events e on e.seq_id = l.event_seq
            where l.stream = $1 and l.leaf_index < $2 order by l.version
            """);
        command.Parameters.Add(new NpgsqlParameter<string> { TypedValue = stream });
        command.Parameters.Add(new NpgsqlParameter<long> { TypedValue = size });
        await using var reader = await command.ExecuteReaderAsync(stop).ConfigureAwait(false);
        while (await reader.ReadAsync(stop).ConfigureAwait(false))
        {
            var entry = reader.GetFieldValue<byte[]>(1);
            events.Add(new SealedEvent(
                reader.GetInt64(0), Good(LogEntry.Parse<EventEntry>(entry)), entry, Good(CanonicalJson.Restricted(reader.GetFieldValue<byte[]>(2))),
                Good(CanonicalJson.Restricted(reader.IsDBNull(3) ? "{}"u8 : reader.GetFieldValue<byte[]>(3)))));
        }

        return events;
    }

    /// <summary>That the leaf at an index is in the log of a size.</summary>
    public async Task<InclusionProof> InclusionAsync(long index, long size, CancellationToken stop = default)
    {
        var nodes = await StoredNodes.ReadAsync(source, InclusionProof.Needed(index, size), stop).ConfigureAwait(false);
        return InclusionProof.Make(nodes, index, size);
    }

    /// <summary>That the log of the smaller size, at least 1, is the beginning of the larger.</summary>
    public async Task<ConsistencyProof> ConsistencyAsync(long oldSize, long newSize, CancellationToken stop = default)
    {
        var nodes = await StoredNodes.ReadAsync(source, ConsistencyProof.Needed(oldSize, newSize), stop).ConfigureAwait(false);
        return ConsistencyProof.Make(nodes, oldSize, newSize);
    }

    /// <summary>The root of the first leaves, from the stored hashes.</summary>
    public async Task<Digest> RootAsync(long size, CancellationToken stop = default)
    {
        if (size == 0) { return MerkleTree.EmptyRoot; }
        return MerkleTree.Root(await StoredNodes.ReadAsync(source, NodeId.Cover(0, size), stop).ConfigureAwait(false), size);
    }

    /// <summary>The last anchor among the first <paramref name="size"/> leaves, or null.</summary>
    public Task<SealedAnchor?> AnchorAsync(long size, CancellationToken stop = default) =>
        AnchorAsync("where l.leaf_index < $1 order by l.leaf_index desc limit 1", new NpgsqlParameter<long> { TypedValue = size }, stop);

    /// <summary>The anchor that was made when a month was closed, such as 2026-09, or null.</summary>
    public Task<SealedAnchor?> AnchorOfMonthAsync(string period, CancellationToken stop = default) =>
        AnchorAsync("where a.period = $1", new NpgsqlParameter<string> { TypedValue = period }, stop);

    /// <summary>The anchor of the last closed month among the first <paramref name="size"/> leaves, or null.</summary>
    public Task<SealedAnchor?> LastMonthEndAsync(long size, CancellationToken stop = default) => AnchorAsync(
        "where l.leaf_index < $1 and a.period is not null order by l.leaf_index desc limit 1", new NpgsqlParameter<long> { TypedValue = size }, stop);

    /// <summary>The map of heads that an anchor commits to, made again from the leaves before it; proofs come from it.</summary>
    public async Task<HeadMap> HeadsAsync(SealedAnchor anchor, CancellationToken stop = default)
    {
        await using var connection = await source.OpenConnectionAsync(stop).ConfigureAwait(false);
        return Good(HeadMap.Of(await StoredHeads.ReadAsync(connection, anchor.Entry.Size, stop).ConfigureAwait(false)));
    }

    /// <summary>The last leaf of each stream among the first leaves is its head; how many events they are in one stream.</summary>
    public async Task<long> VersionAsync(string stream, long size, CancellationToken stop = default)
    {
        await using var command = source.CreateCommand("select coalesce(max(version), 0) from audit.leaf where stream = $1 and leaf_index < $2");
        command.Parameters.Add(new NpgsqlParameter<string> { TypedValue = stream });
        command.Parameters.Add(new NpgsqlParameter<long> { TypedValue = size });
        return (long)(await command.ExecuteScalarAsync(stop).ConfigureAwait(false))!;
    }

    /// <summary>
    /// The knowledge of the first leaves: their size, and the latest recorded moment among them, which a view states. Writers
    /// record in the order of time, so the last leaves have it, and an event sealed late is from before.
    /// </summary>
    public async Task<KnownAt> KnownAtAsync(long size, CancellationToken stop = default)
    {
        await using var command = source.CreateCommand("""
            select max(e.timestamp) from contracts.mt_events e join (
                select event_seq from audit.leaf where leaf_index < $1 and kind = 'event' order by leaf_index desc limit 10000) l on l.event_seq = e.seq_id
            """);
        command.Parameters.Add(new NpgsqlParameter<long> { TypedValue = size });
        await using var reader = await command.ExecuteReaderAsync(stop).ConfigureAwait(false);
        await reader.ReadAsync(stop).ConfigureAwait(false);
        return new KnownAt(reader.IsDBNull(0) ? Instant.MinValue : reader.GetFieldValue<Instant>(0), size);
    }

    /// <summary>
    /// The knowledge that a checkpoint stands for: <c>size:N</c>, at most as many leaves as are signed, or <c>root:TEXT</c>
    /// with at least eight characters of the root of one signed checkpoint. Null with a sentence where there is none.
    /// </summary>
    public async Task<(KnownAt? Known, string Why)> FindAsync(string checkpoint, CancellationToken stop = default)
    {
        if (checkpoint.StartsWith("size:", StringComparison.Ordinal) && Checkpoint.Decimal(checkpoint[5..]) is { } size)
        {
            var signed = (await LatestAsync(stop).ConfigureAwait(false))?.Size ?? 0;
            return size >= 1 && size <= signed
                ? (await KnownAtAsync(size, stop).ConfigureAwait(false), "")
                : (null, $"The log has {signed} signed leaves, and a checkpoint of {size} cannot be shown.");
        }

        if (!checkpoint.StartsWith("root:", StringComparison.Ordinal) || checkpoint.Length < 13)
        {
            return (null, "A checkpoint is size:N or root: with at least eight characters of a root.");
        }

        var found = await CheckpointsByRootAsync(checkpoint[5..], stop).ConfigureAwait(false);
        return found.Count == 1
            ? (await KnownAtAsync(found[0].Size, stop).ConfigureAwait(false), "")
            : (null, found.Count == 0 ? "No signed checkpoint has that root." : "More than one signed checkpoint has a root that begins so; give more of it.");
    }

    internal static T Good<T>(Parsed<T> parsed)
        where T : notnull =>
        parsed.TryGet(out var value, out var fault) ? value : throw new StoreException($"What is stored cannot be sealed or was altered: {fault}. Run `contracts check`.");

    private async Task<SealedAnchor?> AnchorAsync(string which, NpgsqlParameter parameter, CancellationToken stop)
    {
        await using var command = source.CreateCommand($"select l.leaf_index, l.entry from audit.anchor a join audit.leaf l using (leaf_index) {which}");
        command.Parameters.Add(parameter);
        await using var reader = await command.ExecuteReaderAsync(stop).ConfigureAwait(false);
        if (!await reader.ReadAsync(stop).ConfigureAwait(false)) { return null; }
        var entry = reader.GetFieldValue<byte[]>(1);
        return new SealedAnchor(reader.GetInt64(0), Good(LogEntry.Parse<AnchorEntry>(entry)), entry);
    }

    private async Task<StoredCheckpoint?> CheckpointAsync(string which, NpgsqlParameter[] parameters, CancellationToken stop)
    {
        await using var command = source.CreateCommand($"select size, root, note from audit.checkpoint {which}");
        command.Parameters.AddRange(parameters);
        await using var reader = await command.ExecuteReaderAsync(stop).ConfigureAwait(false);
        return await reader.ReadAsync(stop).ConfigureAwait(false) ? Stored(reader) : null;
    }

    private static StoredCheckpoint Stored(NpgsqlDataReader reader) =>
        new(reader.GetInt64(0), new Digest(reader.GetFieldValue<byte[]>(1)), reader.GetString(2));

    private async Task<T?> ScalarAsync<T>(string sql, CancellationToken stop)
    {
        await using var command = source.CreateCommand(sql);
        return await command.ExecuteScalarAsync(stop).ConfigureAwait(false) is T value ? value : default;
    }
}
