namespace Contracts.Store.Writing;

/// <summary>
/// What was used lately, by contract. Bounded by two generations: when the young one is full it becomes the old one,
/// and what is in the old one goes. Not for two threads at once.
/// </summary>
internal sealed class RecentlyUsed<T>(int capacity)
    where T : class
{
    private Dictionary<string, T> young = new(StringComparer.Ordinal);
    private Dictionary<string, T> old = new(StringComparer.Ordinal);

    public T? Find(string contract)
    {
        if (young.TryGetValue(contract, out var kept)) { return kept; }
        if (!old.TryGetValue(contract, out kept)) { return null; }
        Keep(contract, kept);
        return kept;
    }

    public void Keep(string contract, T value)
    {
        young[contract] = value;
        if (young.Count < capacity / 2) { return; }
        old = young;
        young = new Dictionary<string, T>(StringComparer.Ordinal);
    }

    public void Forget(string contract)
    {
        young.Remove(contract);
        old.Remove(contract);
    }

    public void Clear()
    {
        young.Clear();
        old.Clear();
    }
}
