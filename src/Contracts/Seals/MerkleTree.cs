using System.Buffers;
using System.Numerics;
using System.Security.Cryptography;

namespace Contracts.Seals;

/// <summary>
/// The hashes of an append-only tree as RFC 6962, section 2.1 (and RFC 9162, section 2.1.1) define them: a leaf is
/// SHA-256 of 00 and the entry, a node SHA-256 of 01 and its two children, the empty tree SHA-256 of nothing. The two
/// prefixes keep a node from being passed off as an entry.
/// </summary>
public static class MerkleTree
{
    private const byte LeafPrefix = 0;
    private const byte NodePrefix = 1;

    /// <summary>Entries up to this size are hashed on the stack.</summary>
    private const int OnStack = 2048;

    /// <summary>The root of a tree without leaves.</summary>
    public static readonly Digest EmptyRoot = Digest.Of([]);

    /// <summary>The hash of a leaf: SHA-256(00 || entry).</summary>
    public static Digest LeafHash(ReadOnlySpan<byte> entry)
    {
        if (entry.Length >= OnStack) { return LongLeafHash(entry); }
        Span<byte> bytes = stackalloc byte[OnStack];
        bytes[0] = LeafPrefix;
        entry.CopyTo(bytes[1..]);
        return Digest.Of(bytes[..(entry.Length + 1)]);
    }

    /// <summary>The hash of a node: SHA-256(01 || left || right).</summary>
    public static Digest NodeHash(Digest left, Digest right)
    {
        Span<byte> bytes = stackalloc byte[1 + (2 * Digest.Length)];
        bytes[0] = NodePrefix;
        left.CopyTo(bytes[1..]);
        right.CopyTo(bytes[(1 + Digest.Length)..]);
        return Digest.Of(bytes);
    }

    /// <summary>The root over the hashes of leaves, in their order.</summary>
    public static Digest Root(ReadOnlySpan<Digest> leafHashes)
    {
        var range = new CompactRange();
        foreach (var leaf in leafHashes) { range.Append(leaf); }
        return range.Root();
    }

    /// <summary>The root of the first <paramref name="size"/> leaves, from stored hashes.</summary>
    public static Digest Root(INodeReader nodes, long size) => size == 0 ? EmptyRoot : RangeHash(nodes, 0, size);

    /// <summary>
    /// The hash over the leaves from <paramref name="start"/> to before <paramref name="end"/>, made of stored complete
    /// subtrees. The range must be a subtree of some tree, as the ranges of a proof are.
    /// </summary>
    public static Digest RangeHash(INodeReader nodes, long start, long end)
    {
        var parts = NodeId.Cover(start, end);
        var hash = nodes.Node(parts[^1]);
        for (var index = parts.Count - 2; index >= 0; index--) { hash = NodeHash(nodes.Node(parts[index]), hash); }
        return hash;
    }

    /// <summary>The largest power of two below the count, where a tree of so many leaves is split (RFC 6962, 2.1).</summary>
    internal static long Split(long count) => 1L << BitOperations.Log2((ulong)(count - 1));

    private static Digest LongLeafHash(ReadOnlySpan<byte> entry)
    {
        var bytes = ArrayPool<byte>.Shared.Rent(entry.Length + 1);
        bytes[0] = LeafPrefix;
        entry.CopyTo(bytes.AsSpan(1));
        var hash = new Digest(SHA256.HashData(bytes.AsSpan(0, entry.Length + 1)));
        ArrayPool<byte>.Shared.Return(bytes, clearArray: true);
        return hash;
    }
}
