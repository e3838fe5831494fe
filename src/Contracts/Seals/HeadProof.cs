namespace Contracts.Seals;

/// <summary>
/// That a stream has this head among so many, or that it has none: then the heads before and after it stand side by
/// side. One of the two is missing at an end of the map, both in an empty one.
/// </summary>
public sealed record HeadProof(long Count, PlacedHead? Found, PlacedHead? Before, PlacedHead? After)
{
    /// <summary>Whether the proof is of a head, not of its absence.</summary>
    public bool IsPresence => Found is not null;

    /// <summary>
    /// Holds the proof against an anchor's number and root of heads. Null: for a presence that this is the stream's head,
    /// for an absence that the stream did not exist when the anchor was made.
    /// </summary>
    public SealFault? Verify(string tenant, string stream, long headCount, Digest heads)
    {
        if (Count != headCount) { return new SealFault(SealFaultKind.HeadNeighbours, $"The proof is of {Count} heads, the anchor of {headCount}."); }
        return Found is not null ? Presence(tenant, stream, heads) : Absence(HeadEntry.KeyOf(tenant, stream), stream, heads);
    }

    private SealFault? Presence(string tenant, string stream, Digest heads)
    {
        if (Before is not null || After is not null) { return Neighbours("A proof of presence has no neighbours."); }
        if (!string.Equals(Found!.Head.Tenant, tenant, StringComparison.Ordinal) || !string.Equals(Found.Head.Stream, stream, StringComparison.Ordinal))
        {
            return new SealFault(SealFaultKind.HeadDiffers, $"The head is of {Found.Head.Stream}, not of {stream}.");
        }

        return Found.Verify(Count, heads);
    }

    private SealFault? Absence(byte[] key, string stream, Digest heads)
    {
        if (Count == 0)
        {
            if (Before is not null || After is not null) { return Neighbours("An empty map has no heads."); }
            return heads == MerkleTree.EmptyRoot ? null : new SealFault(SealFaultKind.ProofRootDiffers, "The root is not that of an empty map.");
        }

        // The indices are counted from the ends where a neighbour is missing, so that nothing can stand between.
        if ((Before is null && After is null) || (Before?.Index ?? -1) + 1 != (After?.Index ?? Count))
        {
            return Neighbours("The neighbours do not stand side by side.");
        }

        if (Before is not null && HeadMap.Compare(Before.Head.Key(), key) >= 0) { return Present(stream); }
        if (After is not null && HeadMap.Compare(key, After.Head.Key()) >= 0) { return Present(stream); }
        return Before?.Verify(Count, heads) ?? After?.Verify(Count, heads);
    }

    private static SealFault Neighbours(string detail) => new(SealFaultKind.HeadNeighbours, detail);

    private static SealFault Present(string stream) => new(SealFaultKind.HeadPresent, $"The neighbours are not before and after {stream}.");
}
