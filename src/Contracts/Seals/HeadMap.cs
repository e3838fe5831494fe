namespace Contracts.Seals;

/// <summary>
/// All stream heads at one moment, sorted by key, under one RFC 6962 tree. The anchor commits to its root and count, so
/// that "these are all events of the stream" and "there is no such stream" can be proved.
/// </summary>
public sealed class HeadMap
{
    private readonly HeadEntry[] heads;
    private readonly byte[][] keys;
    private readonly MemoryTree tree;

    private HeadMap(HeadEntry[] heads, byte[][] keys, Func<HeadEntry, Digest> leafHash)
    {
        (this.heads, this.keys) = (heads, keys);
        tree = new MemoryTree(heads.Select(leafHash));
    }

    public long Count => heads.Length;

    public Digest Root => tree.Root;

    /// <summary>The heads in the order of their keys.</summary>
    public IReadOnlyList<HeadEntry> Heads => heads;

    /// <summary>Sorts the heads; two of one stream are refused.</summary>
    public static Parsed<HeadMap> Of(IEnumerable<HeadEntry> heads) => Of(heads, static head => head.LeafHash());

    /// <summary>The same for who knows the hashes of most heads already: of map after map nearly all are as they were.</summary>
    /// <param name="heads">The heads.</param>
    /// <param name="leafHash">What <see cref="LogEntry.LeafHash"/> of a head is.</param>
    public static Parsed<HeadMap> Of(IEnumerable<HeadEntry> heads, Func<HeadEntry, Digest> leafHash)
    {
        var sorted = heads.ToArray();
        var keys = Array.ConvertAll(sorted, head => head.Key());
        Array.Sort(keys, sorted, Comparer<byte[]>.Create(Compare));
        for (var index = 1; index < keys.Length; index++)
        {
            if (Compare(keys[index - 1], keys[index]) == 0)
            {
                return new SealFault(SealFaultKind.HeadRepeated, $"The stream {sorted[index].Stream} has two heads.");
            }
        }

        return new HeadMap(sorted, keys, leafHash);
    }

    /// <summary>The proof for a stream: of its head where there is one, else of the two neighbours between which it would stand.</summary>
    public HeadProof Prove(string tenant, string stream)
    {
        var found = Array.BinarySearch(keys, HeadEntry.KeyOf(tenant, stream), Comparer<byte[]>.Create(Compare));
        if (found >= 0) { return new HeadProof(Count, At(found), null, null); }
        var next = ~found;
        return new HeadProof(Count, null, next == 0 ? null : At(next - 1), next == Count ? null : At(next));
    }

    internal static int Compare(byte[] left, byte[] right) => left.AsSpan().SequenceCompareTo(right);

    private PlacedHead At(int index) => new(heads[index], index, InclusionProof.Make(tree, index, Count).Path);
}

/// <summary>A head and the hashes that show it at its index in the map.</summary>
public sealed record PlacedHead(HeadEntry Head, long Index, IReadOnlyList<Digest> Path)
{
    internal SealFault? Verify(long count, Digest root) => new InclusionProof(Index, count, Path).Verify(Head.LeafHash(), root);

    public bool Equals(PlacedHead? other) =>
        other is not null && Head == other.Head && Index == other.Index && Path.SequenceEqual(other.Path);

    public override int GetHashCode() => HashCode.Combine(Head, Index, Path.Count);
}
