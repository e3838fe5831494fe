namespace Contracts.Seals;

/// <summary>
/// That a leaf stands at an index in the tree of a size: the hashes from the leaf's sibling up to the child of the root
/// (RFC 6962, section 2.1.1; RFC 9162, section 2.1.3).
/// </summary>
public sealed record InclusionProof(long Index, long Size, IReadOnlyList<Digest> Path)
{
    /// <summary>Makes the proof from stored hashes.</summary>
    public static InclusionProof Make(INodeReader nodes, long index, long size)
    {
        var ranges = Ranges(index, size);
        return new InclusionProof(index, size, [.. ranges.Select(range => MerkleTree.RangeHash(nodes, range.Start, range.End))]);
    }

    /// <summary>The stored hashes that <see cref="Make"/> will ask for, so that a table can give them in one query.</summary>
    public static IReadOnlyList<NodeId> Needed(long index, long size) =>
        [.. Ranges(index, size).SelectMany(range => NodeId.Cover(range.Start, range.End))];

    /// <summary>What is wrong with the proof for this leaf and root, or null.</summary>
    public SealFault? Verify(Digest leafHash, Digest root)
    {
        if (Index < 0 || Index >= Size)
        {
            return new SealFault(SealFaultKind.ProofIndexOutside, $"There is no leaf {Index} in a tree of {Size}.");
        }

        var (at, last) = (Index, Size - 1);
        var hash = leafHash;
        foreach (var step in Path)
        {
            if (last == 0) { return Long(); }
            if ((at & 1) == 1 || at == last)
            {
                hash = MerkleTree.NodeHash(step, hash);
                while ((at & 1) == 0 && at != 0) { (at, last) = (at >> 1, last >> 1); }
            }
            else
            {
                hash = MerkleTree.NodeHash(hash, step);
            }

            (at, last) = (at >> 1, last >> 1);
        }

        if (last != 0) { return new SealFault(SealFaultKind.ProofLength, "The proof of inclusion has too few hashes."); }
        return hash == root ? null : new SealFault(SealFaultKind.ProofRootDiffers, $"The proof for leaf {Index} leads to {hash}, not to {root}.");
    }

    public bool Equals(InclusionProof? other) =>
        other is not null && Index == other.Index && Size == other.Size && Path.SequenceEqual(other.Path);

    public override int GetHashCode() => HashCode.Combine(Index, Size, Path.Count);

    private static SealFault Long() => new(SealFaultKind.ProofLength, "The proof of inclusion has too many hashes.");

    private static List<(long Start, long End)> Ranges(long index, long size)
    {
        ArgumentOutOfRangeException.ThrowIfNegative(index);
        ArgumentOutOfRangeException.ThrowIfGreaterThanOrEqual(index, size);
        var ranges = new List<(long, long)>();
        var (start, end) = (0L, size);
        while (end - start > 1)
        {
            var middle = start + MerkleTree.Split(end - start);
            if (index < middle)
            {
                ranges.Add((middle, end));
                end = middle;
            }
            else
            {
                ranges.Add((start, middle));
                start = middle;
            }
        }

        ranges.Reverse();
        return ranges;
    }
}
