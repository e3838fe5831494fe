using System.Buffers.Binary;
using System.Numerics;

namespace Contracts.Seals;

/// <summary>
/// The right edge of a tree: one hash for each complete subtree that the leaves so far are made of, the largest first.
/// It is all that is needed to append and to know the root, at most 63 hashes whatever the size.
/// </summary>
public sealed class CompactRange
{
    private readonly List<Digest> hashes = new(64);

    /// <summary>How many leaves were appended.</summary>
    public long Size { get; private set; }

    /// <summary>The hashes of the complete subtrees, the largest (leftmost) first; their count is the ones in the size.</summary>
    public IReadOnlyList<Digest> Hashes => hashes;

    /// <summary>
    /// Appends the hash of a leaf. Each subtree that this completes, the leaf itself first, is told to
    /// <paramref name="completed"/>; storing those is storing the tree.
    /// </summary>
    public void Append(Digest leafHash, Action<NodeId, Digest>? completed = null)
    {
        var node = new NodeId(0, Size);
        var hash = leafHash;
        completed?.Invoke(node, hash);
        while ((node.Index & 1) == 1)
        {
            hash = MerkleTree.NodeHash(hashes[^1], hash);
            hashes.RemoveAt(hashes.Count - 1);
            node = new NodeId(node.Level + 1, node.Index >> 1);
            completed?.Invoke(node, hash);
        }

        hashes.Add(hash);
        Size++;
    }

    /// <summary>The root of the tree over all leaves so far (RFC 6962, section 2.1).</summary>
    public Digest Root()
    {
        if (Size == 0) { return MerkleTree.EmptyRoot; }
        var root = hashes[^1];
        for (var index = hashes.Count - 2; index >= 0; index--) { root = MerkleTree.NodeHash(hashes[index], root); }
        return root;
    }

    public CompactRange Clone()
    {
        var copy = new CompactRange { Size = Size };
        copy.hashes.AddRange(hashes);
        return copy;
    }

    /// <summary>The edge of the first <paramref name="size"/> leaves of a stored tree.</summary>
    public static CompactRange From(INodeReader nodes, long size)
    {
        var range = new CompactRange { Size = size };
        if (size > 0) { range.hashes.AddRange(NodeId.Cover(0, size).Select(nodes.Node)); }
        return range;
    }

    /// <summary>The state as bytes: the size, eight bytes big-endian, then the hashes, 32 bytes each.</summary>
    public byte[] ToBytes()
    {
        var bytes = new byte[8 + (Digest.Length * hashes.Count)];
        BinaryPrimitives.WriteInt64BigEndian(bytes, Size);
        for (var index = 0; index < hashes.Count; index++) { hashes[index].CopyTo(bytes.AsSpan(8 + (Digest.Length * index))); }
        return bytes;
    }

    /// <summary>Reads what <see cref="ToBytes"/> wrote; the number of hashes must be the number of ones in the size.</summary>
    public static Parsed<CompactRange> Parse(ReadOnlySpan<byte> bytes)
    {
        if (bytes.Length < 8) { return new SealFault(SealFaultKind.TreeMalformed, "The state of a tree is shorter than its size."); }
        var range = new CompactRange { Size = BinaryPrimitives.ReadInt64BigEndian(bytes) };
        if (range.Size < 0 || bytes.Length != 8 + (Digest.Length * BitOperations.PopCount((ulong)range.Size)))
        {
            return new SealFault(SealFaultKind.TreeMalformed, "The state of a tree has not the hashes that its size asks for.");
        }

        for (var at = 8; at < bytes.Length; at += Digest.Length) { range.hashes.Add(new Digest(bytes.Slice(at, Digest.Length))); }
        return range;
    }
}
