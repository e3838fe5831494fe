using System.Collections.Immutable;
using Contracts.History;
using Contracts.Terms;
using NodaTime;

namespace Contracts.Store.Writing;

/// <summary>A contract as the pipeline keeps it between transactions.</summary>
/// <param name="History">Everything recorded.</param>
/// <param name="Placed">The serial that the placements table says this contract holds.</param>
internal sealed record Known(ContractHistory History, string? Placed);

/// <summary>
/// What the pipeline remembers between transactions, true only while nobody else has written: the clock's revision
/// says so. Bounded by two generations: when the young one is full it becomes the old one, and the old one goes.
/// </summary>
internal sealed class Knowledge(int capacity)
{
    private Dictionary<string, Known> young = new(StringComparer.Ordinal);
    private Dictionary<string, Known> old = new(StringComparer.Ordinal);

    public long Revision { get; set; } = -1;

    public TaxRates? Rates { get; set; }

    public ImmutableDictionary<string, YearMonth>? Shops { get; set; }

    public Known? Find(string contract)
    {
        if (young.TryGetValue(contract, out var known)) { return known; }
        if (!old.TryGetValue(contract, out known)) { return null; }
        Keep(contract, known);
        return known;
    }

    public void Keep(string contract, Known known)
    {
        young[contract] = known;
        if (young.Count < capacity / 2) { return; }
        old = young;
        young = new Dictionary<string, Known>(StringComparer.Ordinal);
    }

    public void Forget()
    {
        young.Clear();
        old.Clear();
        Rates = null;
        Shops = null;
        Revision = -1;
    }
}
