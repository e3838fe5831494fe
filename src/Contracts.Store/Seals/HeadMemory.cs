using Contracts.Seals;

namespace Contracts.Store.Seals;

/// <summary>
/// The heads of all streams as the last anchor of a run had them, so that the next anchor reads only the leaves since. They are taken over only where the log still has the root
/// that it had then. For a run through many simulated days; it holds the head of each stream in memory.
/// </summary>
public sealed class HeadMemory
{
    private readonly Dictionary<string, HeadEntry> heads = new(StringComparer.Ordinal);
    private readonly Dictionary<string, Digest> hashes = new(StringComparer.Ordinal);

    /// <summary>How many leaves of the log are in it.</summary>
    internal long Size { get; private set; }

    /// <summary>The root of the log at that size.</summary>
    internal Digest Root { get; private set; }

    internal IReadOnlyCollection<HeadEntry> Heads => heads.Values;

    /// <summary>The hash of a head that is remembered here.</summary>
    internal Digest LeafHash(HeadEntry head) => hashes[head.Stream];

    internal void Forget()
    {
        heads.Clear();
        hashes.Clear();
        Size = 0;
    }

    internal void Add(IEnumerable<HeadEntry> later, long size, Digest root)
    {
        foreach (var head in later) { (heads[head.Stream], hashes[head.Stream]) = (head, head.LeafHash()); }
        (Size, Root) = (size, root);
    }
}
