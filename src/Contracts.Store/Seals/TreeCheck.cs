using System.Text;
using Contracts.Seals;

namespace Contracts.Store.Seals;

/// <summary>
/// Builds the tree anew over the leaves and holds it against everything that was stored of it: the nodes, the roots, the
/// signed notes, the anchors, and what the signer remembers.
/// </summary>
internal sealed class TreeCheck(SealTables tables, SignerState? signer, SealAuditReport report)
{
    private const int Height = 8;

    /// <summary>Heads are sorted and hashed again for the newest anchor and those of month ends, up to about this many in all.</summary>
    private const long MostHeads = 20_000_000;

    private readonly CompactRange edge = new();
    private readonly HashSet<NodeId> nodes = [];
    private readonly HashSet<long> seen = [];
    private readonly long newest = tables.Anchors.Keys.DefaultIfEmpty(-1).Max();
    private long heads;
    private bool broken;

    public long Size => edge.Size;

    /// <summary>Appends a leaf; what was stored at the new size is held against it.</summary>
    public void Append(LogEntry? entry, Digest hash, LeafCheck leaves)
    {
        if (entry is AnchorEntry anchor) { Anchor(anchor, leaves); }
        edge.Append(hash, (id, node) =>
        {
            if (id.Level == 0 || id.Level % Height != 0) { return; }
            nodes.Add(id);
            report.Count("tree nodes");
            if (!tables.Nodes.TryGetValue(id, out var stored)) { report.Add("node-missing", "audit.node", id.Index, "row", $"Node {id.Index} at level {id.Level} is missing."); }
            else if (stored != node) { Once("node-differs", "audit.node", id.Index, "hash", $"Node {id.Index} at level {id.Level} is not the hash of its leaves."); }
        });
        if (tables.Roots.TryGetValue(Size, out var root)) { Root(root); }
        if (signer is not null && signer.Size == Size && signer.Root != edge.Root())
        {
            Once("signer-differs", "audit.root", Size, "root", $"The signer signed {signer.Root.ToBase64()} for {Size} leaves, and they have the root {edge.Root().ToBase64()}.");
        }
    }

    /// <summary>What must be there when all leaves are through.</summary>
    public void Finish()
    {
        foreach (var id in tables.Nodes.Keys.Where(id => !nodes.Contains(id)))
        {
            report.Add("node-extra", "audit.node", id.Index, "row", $"Node {id.Index} at level {id.Level} is over leaves that are not there.");
        }

        foreach (var size in tables.Roots.Keys.Where(size => size > Size)) { Beyond("audit.root", size); }
        if (Size > 0 && !tables.Roots.ContainsKey(Size))
        {
            report.Add("root-missing", "audit.root", Size, "row", $"The log has {Size} leaves, and no root of that size is stored.");
        }

        Chain("audit.root", tables.Roots.Values.Select(row => (row.Size, row.Previous)));
        Chain("audit.checkpoint", tables.Checkpoints.Values.Select(row => (row.Size, row.Previous)));
        foreach (var row in tables.Checkpoints.Values.Where(row => !seen.Contains(row.Size)))
        {
            if (row.Size > Size) { Beyond("audit.checkpoint", row.Size); }
            else { report.Add("root-missing", "audit.root", row.Size, "row", $"The checkpoint of {row.Size} leaves has no root beside it."); }
        }

        foreach (var index in tables.Anchors.Keys.Where(index => !seen.Contains(~index)))
        {
            report.Add("anchor-extra", "audit.anchor", index, "row", $"Leaf {index} is no anchor.");
        }

        if (signer is null) { return; }
        report.Count("signer");
        if (signer.Size > Size)
        {
            report.Add("log-behind-signer", "audit.leaf", signer.Size, "row",
                $"The signer signed {signer.Size} leaves, and the log has {Size}: its end was cut off, or an earlier state was put back.");
        }
        else if (signer.Size > 0 && !tables.Checkpoints.ContainsKey(signer.Size))
        {
            report.Add("checkpoint-missing", "audit.checkpoint", signer.Size, "row", $"The signer signed {signer.Size} leaves, and that checkpoint is not stored.");
        }
    }

    private void Root(StoredRoot row)
    {
        report.Count("roots");
        var root = edge.Root();
        if (row.Root != root) { Once("root-differs", "audit.root", Size, "root", $"The root of the first {Size} leaves is not the one stored."); }
        if (!tables.Checkpoints.TryGetValue(Size, out var note)) { return; }
        seen.Add(Size);
        report.Count("checkpoints");
        if (note.Root != root) { Once("checkpoint-differs", "audit.checkpoint", Size, "root", $"The root of the first {Size} leaves is not the one of the checkpoint."); }
        var bytes = Encoding.UTF8.GetBytes(note.Note);
        SealFault? fault = null;
        foreach (var key in tables.Keys)
        {
            if (Checkpoint.Open(bytes, key).TryGet(out var signed, out fault))
            {
                if (signed.Checkpoint == new Checkpoint(tables.Origin, Size, root)) { return; }
                Once("checkpoint-differs", "audit.checkpoint", Size, "note",
                    $"The signed note of {Size} leaves says {signed.Checkpoint.Size} leaves with the root {signed.Checkpoint.Root.ToBase64()}.");
                return;
            }
        }

        report.Add("checkpoint-differs", "audit.checkpoint", Size, "note", $"The note of {Size} leaves is not signed by the log's key: {fault?.ToString() ?? "there is no key"}");
    }

    private void Anchor(AnchorEntry anchor, LeafCheck leaves)
    {
        report.Count("anchors");
        seen.Add(~Size);
        if (!tables.Anchors.TryGetValue(Size, out var row)) { report.Add("anchor-missing", "audit.anchor", Size, "row", $"The anchor at leaf {Size} is not listed."); }
        else
        {
            Field("reason", AnchorMaker.Word(anchor.Reason), row.Reason);
            Field("period", anchor.Period, row.Period);
            Field("at", anchor.At, row.At);
        }

        Field("log", anchor.Log, tables.Origin);
        Field("size", anchor.Size, Size);
        Field("root", anchor.Root, edge.Root());
        Field("events", anchor.Events, leaves.Events);
        Field("headCount", anchor.HeadCount, leaves.Heads.Count);
        if (Size != newest && (anchor.Reason != AnchorReason.MonthEnd || heads + leaves.Heads.Count > MostHeads)) { return; }
        heads += leaves.Heads.Count;
        report.Count("maps of heads");
        var map = HeadMap.Of(leaves.Heads.Select(pair => new HeadEntry
        {
            Tenant = StoredHeads.Tenant,
            Stream = pair.Key,
            StreamVersion = pair.Value.Version,
            Index = pair.Value.Index,
            Leaf = pair.Value.Leaf,
        }));
        Field("heads", anchor.Heads, map.Value.Root);

        void Field<T>(string field, T says, T found)
        {
            if (EqualityComparer<T>.Default.Equals(says, found)) { return; }
            report.Add("anchor-differs", "audit.anchor", Size, field, $"The anchor at leaf {Size} says {says}, and it is {found}.");
        }
    }

    private void Chain(string table, IEnumerable<(long Size, long? Previous)> rows)
    {
        long? before = null;
        foreach (var (size, previous) in rows.OrderBy(row => row.Size))
        {
            if (previous != before)
            {
                report.Add("seal-missing", table, previous ?? size, "previous", $"The row of {size} leaves follows the one of {Name(previous)}, which is not the one before it.");
            }

            before = size;
        }
    }

    private static string Name(long? size) => size?.ToString(System.Globalization.CultureInfo.InvariantCulture) ?? "none";

    private void Beyond(string table, long size) =>
        report.Add("log-cut", table, size, "size", $"There is a row for {size} leaves, and the log has {Size}.");

    /// <summary>A leaf that is wrong makes everything above it wrong; the first tells where, the rest would only repeat it.</summary>
    private void Once(string kind, string table, long version, string field, string detail)
    {
        if (broken) { return; }
        broken = true;
        report.Add(kind, table, version, field, detail);
    }
}
