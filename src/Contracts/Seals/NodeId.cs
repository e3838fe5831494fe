using System.Numerics;

namespace Contracts.Seals;

/// <summary>
/// A complete subtree: at level L with index I it stands over the 2^L leaves that begin with I * 2^L. Its hash never
/// changes as the tree grows, so such hashes and no others are stored.
/// </summary>
public readonly record struct NodeId(int Level, long Index)
{
    /// <summary>The complete subtrees, from left to right, that together are the leaves from start to before end.</summary>
    public static IReadOnlyList<NodeId> Cover(long start, long end)
    {
        ArgumentOutOfRangeException.ThrowIfNegative(start);
        ArgumentOutOfRangeException.ThrowIfGreaterThanOrEqual(start, end);
        var nodes = new List<NodeId>();
        while (start < end)
        {
            var level = BitOperations.Log2((ulong)(end - start));
            if (start != 0) { level = Math.Min(level, BitOperations.TrailingZeroCount(start)); }
            nodes.Add(new NodeId(level, start >> level));
            start += 1L << level;
        }

        return nodes;
    }
}

/// <summary>Stored hashes of complete subtrees: a table, tiles or memory.</summary>
public interface INodeReader
{
    /// <summary>The hash of the subtree; it is asked for only where the subtree is complete.</summary>
    Digest Node(NodeId node);
}

/// <summary>The whole tree over a fixed list of leaf hashes, in memory.</summary>
public sealed class MemoryTree : INodeReader
{
    private readonly List<Digest[]> levels = [];

    public MemoryTree(IEnumerable<Digest> leafHashes)
    {
        var level = leafHashes.ToArray();
        Size = level.Length;
        levels.Add(level);
        while (level.Length > 1)
        {
            var above = new Digest[level.Length / 2];
            for (var index = 0; index < above.Length; index++)
            {
                above[index] = MerkleTree.NodeHash(level[2 * index], level[(2 * index) + 1]);
            }

            levels.Add(level = above);
        }
    }

    /// <summary>How many leaves there are.</summary>
    public long Size { get; }

    public Digest Root => MerkleTree.Root(this, Size);

    public Digest Node(NodeId node) => levels[node.Level][node.Index];
}
