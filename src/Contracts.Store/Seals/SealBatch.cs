using Contracts.Seals;

namespace Contracts.Store.Seals;

/// <summary>A leaf that is to be appended: an event with its row, or an anchor.</summary>
internal sealed record NewLeaf(string Kind, long? Sequence, string? Stream, long? Version, Digest Hash, byte[] Entry);

/// <summary>The last sealed event of a stream: its version and its leaf.</summary>
internal readonly record struct StreamHead(long Version, Digest Leaf);

/// <summary>
/// Decides the order of a batch. Rows come by sequence number; the rows of one stream take the places that the stream has
/// in that order, but by version, since a later version may hold a smaller number. A version whose predecessor is neither
/// sealed nor there is refused with all that follow it: the next leaf would say that it comes after something unknown.
/// </summary>
internal static class SealBatch
{
    public static (List<NewLeaf> Leaves, List<SealAlarm> Alarms) Order(
        string log, IReadOnlyList<SealRow> rows, IReadOnlyDictionary<string, StreamHead> heads)
    {
        var alarms = new List<SealAlarm>();
        var streams = new Dictionary<string, Queue<NewLeaf>>(StringComparer.Ordinal);
        foreach (var group in rows.GroupBy(row => row.Stream, StringComparer.Ordinal))
        {
            streams[group.Key] = Chain(log, group.OrderBy(row => row.Version).ThenBy(row => row.Sequence), heads.GetValueOrDefault(group.Key), alarms);
        }

        var leaves = new List<NewLeaf>(rows.Count);
        foreach (var row in rows.OrderBy(row => row.Sequence))
        {
            // Fewer leaves than places where something was refused: the stream's last places stay empty.
            if (streams[row.Stream].TryDequeue(out var next)) { leaves.Add(next); }
        }

        return (leaves, alarms);
    }

    private static Queue<NewLeaf> Chain(string log, IEnumerable<SealRow> rows, StreamHead head, List<SealAlarm> alarms)
    {
        var chain = new Queue<NewLeaf>();
        foreach (var row in rows)
        {
            if (row.Version != head.Version + 1)
            {
                alarms.Add(row.Version <= head.Version
                    ? new SealAlarm("version-sealed-already", row.Stream, row.Version, $"Event {row.Sequence} is not the one that is sealed as this version.")
                    : new SealAlarm("version-missing", row.Stream, head.Version + 1, $"Version {row.Version} is there and the one before it is neither sealed nor waiting."));
                continue;
            }

            if (!row.Entry(log, head.Leaf).TryGet(out var entry, out var fault))
            {
                alarms.Add(new SealAlarm("event-cannot-be-sealed", row.Stream, row.Version, fault.ToString()));
                continue;
            }

            var bytes = entry.ToBytes();
            var hash = MerkleTree.LeafHash(bytes);
            chain.Enqueue(new NewLeaf(entry.Kind, row.Sequence, row.Stream, row.Version, hash, bytes));
            head = new StreamHead(row.Version, hash);
        }

        return chain;
    }
}
