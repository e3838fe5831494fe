using System.Numerics;

namespace Contracts.Seals;

/// <summary>
/// That the tree of a smaller size is the beginning of the larger one: nothing was changed or taken out in between
/// (RFC 6962, section 2.1.2; RFC 9162, section 2.1.4). From an empty tree there is nothing to prove, and such a proof
/// is refused; who begins with nothing decides so in a place of its own.
/// </summary>
public sealed record ConsistencyProof(long OldSize, long NewSize, IReadOnlyList<Digest> Path)
{
    /// <summary>Makes the proof from stored hashes; both sizes at least 1.</summary>
    public static ConsistencyProof Make(INodeReader nodes, long oldSize, long newSize)
    {
        var ranges = Ranges(oldSize, newSize);
        return new ConsistencyProof(oldSize, newSize, [.. ranges.Select(range => MerkleTree.RangeHash(nodes, range.Start, range.End))]);
    }

    /// <summary>The stored hashes that <see cref="Make"/> will ask for.</summary>
    public static IReadOnlyList<NodeId> Needed(long oldSize, long newSize) =>
        [.. Ranges(oldSize, newSize).SelectMany(range => NodeId.Cover(range.Start, range.End))];

    /// <summary>What is wrong with the proof between these roots, or null.</summary>
    public SealFault? Verify(Digest oldRoot, Digest newRoot)
    {
        if (OldSize < 1 || OldSize > NewSize)
        {
            return new SealFault(SealFaultKind.ProofIndexOutside, $"A tree of {OldSize} is not shown to be the beginning of one of {NewSize}.");
        }

        if (OldSize == NewSize)
        {
            if (Path.Count != 0) { return Wrong("Two trees of one size need no hashes."); }
            return oldRoot == newRoot ? null : Differs(oldRoot, newRoot);
        }

        var whole = BitOperations.IsPow2(OldSize);
        if (Path.Count == 0) { return Wrong("The proof of consistency has no hashes."); }
        var (at, last) = (OldSize - 1, NewSize - 1);
        while ((at & 1) == 1) { (at, last) = (at >> 1, last >> 1); }
        // The old root itself is the first step where the old tree is one complete subtree.
        var (old, current) = whole ? (oldRoot, oldRoot) : (Path[0], Path[0]);
        foreach (var step in Path.Skip(whole ? 0 : 1))
        {
            if (last == 0) { return Wrong("The proof of consistency has too many hashes."); }
            if ((at & 1) == 1 || at == last)
            {
                old = MerkleTree.NodeHash(step, old);
                current = MerkleTree.NodeHash(step, current);
                while ((at & 1) == 0 && at != 0) { (at, last) = (at >> 1, last >> 1); }
            }
            else
            {
                current = MerkleTree.NodeHash(current, step);
            }

            (at, last) = (at >> 1, last >> 1);
        }

        if (last != 0) { return Wrong("The proof of consistency has too few hashes."); }
        if (old != oldRoot) { return Differs(old, oldRoot); }
        return current == newRoot ? null : Differs(current, newRoot);
    }

    public bool Equals(ConsistencyProof? other) =>
        other is not null && OldSize == other.OldSize && NewSize == other.NewSize && Path.SequenceEqual(other.Path);

    public override int GetHashCode() => HashCode.Combine(OldSize, NewSize, Path.Count);

    private static SealFault Wrong(string detail) => new(SealFaultKind.ProofLength, detail);

    private SealFault Differs(Digest found, Digest stated) =>
        new(SealFaultKind.ProofRootDiffers, $"The proof from size {OldSize} to {NewSize} leads to {found}, not to {stated}.");

    private static List<(long Start, long End)> Ranges(long oldSize, long newSize)
    {
        ArgumentOutOfRangeException.ThrowIfLessThan(oldSize, 1);
        ArgumentOutOfRangeException.ThrowIfGreaterThan(oldSize, newSize);
        var ranges = new List<(long, long)>();
        var (start, end) = (0L, newSize);
        var whole = true;
        while (oldSize != end)
        {
            var middle = start + MerkleTree.Split(end - start);
            if (oldSize <= middle)
            {
                ranges.Add((middle, end));
                end = middle;
            }
            else
            {
                ranges.Add((start, middle));
                start = middle;
                whole = false;
            }
        }

        if (!whole) { ranges.Add((start, end)); }
        ranges.Reverse();
        return ranges;
    }
}
