using Contracts.Seals;
using Contracts.Store.Writing;
using NodaTime;

namespace Contracts.Store.Seals;

/// <summary>A leaf as it is stored.</summary>
internal sealed record StoredLeaf(long Index, string Kind, long? Sequence, string? Stream, long? Version, Digest Hash, byte[] Entry);

/// <summary>The head of a stream on the way through the log.</summary>
internal readonly record struct RunningHead(long Version, long Index, Digest Leaf);

/// <summary>
/// Holds each leaf against its own columns, against the leaf before it in its stream, and against the event's row, whose
/// digests are computed anew.
/// </summary>
internal sealed class LeafCheck(string origin, SealAuditReport report)
{
    /// <summary>The heads of the leaves so far.</summary>
    public Dictionary<string, RunningHead> Heads { get; } = new(StringComparer.Ordinal);

    /// <summary>Entries whose row is not where it should be; they are looked for by their ids at the end.</summary>
    public List<(long Index, EventEntry Entry)> Lost { get; } = [];

    public long Events { get; private set; }

    /// <summary>Looks at a leaf and answers what it commits to and the hash that the tree is made of.</summary>
    public (LogEntry? Entry, Digest Hash) Take(StoredLeaf leaf, SealRow? row)
    {
        var name = leaf.Stream ?? "audit.leaf";
        var version = leaf.Version ?? leaf.Index;
        var hash = MerkleTree.LeafHash(leaf.Entry);
        if (!LogEntry.Parse(leaf.Entry).TryGet(out var entry, out var fault))
        {
            report.Add("leaf-altered", name, version, "audit.leaf.entry", $"The entry of leaf {leaf.Index} cannot be read: {fault}");
            if (leaf.Stream is not null) { Pass(leaf.Stream, version, leaf.Index, leaf.Hash); }
            return (null, leaf.Hash);
        }

        if (entry.Kind != leaf.Kind) { Differs(name, version, leaf, "kind"); }
        if (entry is not EventEntry sealed1)
        {
            if (hash != leaf.Hash) { Differs("audit.leaf", leaf.Index, leaf, "leaf_hash"); }
            report.Count("anchors and other leaves");
            return (entry, hash);
        }

        Events++;
        return (entry, Event(leaf, sealed1, row, hash));
    }

    private Digest Event(StoredLeaf leaf, EventEntry entry, SealRow? row, Digest hash)
    {
        if (entry.Sequence != leaf.Sequence) { Differs(entry.Stream, entry.StreamVersion, leaf, "event_seq"); }
        if (entry.Stream != leaf.Stream) { Differs(entry.Stream, entry.StreamVersion, leaf, "stream"); }
        if (entry.StreamVersion != leaf.Version) { Differs(entry.Stream, entry.StreamVersion, leaf, "version"); }
        if (entry.Log != origin) { report.Add("leaf-altered", entry.Stream, entry.StreamVersion, "log", $"Leaf {leaf.Index} is of the log {entry.Log}."); }
        var head = Heads.GetValueOrDefault(entry.Stream);
        if (entry.StreamVersion != head.Version + 1)
        {
            report.Add("leaf-missing", entry.Stream, head.Version + 1, "row",
                $"Leaf {leaf.Index} is of version {entry.StreamVersion}, and {head.Version} is the one before it in the log.");
        }

        if (entry.Previous != head.Leaf)
        {
            report.Add("leaf-altered", entry.Stream, entry.StreamVersion, "prev", $"Leaf {leaf.Index} does not follow the leaf before it in its stream.");
        }

        if (hash != leaf.Hash)
        {
            // Of two that differ the one that the row leads to is the true one.
            var rebuilt = row is not null && row.Entry(entry.Log, entry.Previous).TryGet(out var again, out _) ? again.LeafHash() : hash;
            Differs(entry.Stream, entry.StreamVersion, leaf, rebuilt == leaf.Hash ? "entry" : "leaf_hash");
            hash = rebuilt == leaf.Hash ? leaf.Hash : hash;
        }

        Pass(entry.Stream, entry.StreamVersion, leaf.Index, hash);
        if (row is null || (row.Id != entry.Id && (row.Stream != entry.Stream || row.Version != entry.StreamVersion))) { Lost.Add((leaf.Index, entry)); }
        else { Compare(entry, row); }
        return hash;
    }

    /// <summary>Names every member of an entry that the row says otherwise.</summary>
    public void Compare(EventEntry entry, SealRow row)
    {
        report.Count("sealed events");
        if (!row.Entry(entry.Log, entry.Previous).TryGet(out var now, out var fault))
        {
            var field = fault.Detail.Split(':')[0];
            report.Add("event-altered", entry.Stream, entry.StreamVersion, field is "data" or "headers" or "at" ? field : "row", $"The event cannot be sealed any more: {fault}");
            return;
        }

        if (now == entry) { return; }
        Field("seq", entry.Sequence, now.Sequence);
        Field("id", entry.Id, now.Id);
        Field("stream", entry.Stream, now.Stream);
        Field("ver", entry.StreamVersion, now.StreamVersion);
        Field("type", entry.Type, now.Type);
        Field("at", Text(entry.RecordedAt), Text(now.RecordedAt));
        Field("tenant", entry.Tenant, now.Tenant);
        Field("data", entry.Data, now.Data);
        Field("eff", entry.EffectiveOn, now.EffectiveOn);
        Field("headers", entry.Headers, now.Headers);
        Field("actor", entry.Actor, now.Actor);
        Field("cmd", entry.Command, now.Command);

        void Field<T>(string field, T was, T isNow)
        {
            if (EqualityComparer<T>.Default.Equals(was, isNow)) { return; }
            report.Add("event-altered", entry.Stream, entry.StreamVersion, field, $"Sealed as {Shown(was)}, stored as {Shown(isNow)}.");
        }
    }

    private static string Shown<T>(T value) => value is null ? "nothing" : Convert.ToString(value, System.Globalization.CultureInfo.InvariantCulture)!;

    private static string Text(Instant moment) => Moments.Text(moment);

    private void Pass(string stream, long version, long index, Digest leaf) => Heads[stream] = new RunningHead(version, index, leaf);

    private void Differs(string stream, long version, StoredLeaf leaf, string column) =>
        report.Add("leaf-altered", stream, version, $"audit.leaf.{column}", $"Leaf {leaf.Index}: the column {column} and the entry do not agree.");
}
