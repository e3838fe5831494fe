using System.Collections.Immutable;
using Contracts.Law;
using NodaTime;

namespace Contracts.Terms;

/// <summary>
/// What the programme knows at one moment beside the contracts: the tax rates by jurisdiction, and the law packs that come
/// with it or were adopted until then. An immutable value.
/// </summary>
public sealed class ReferenceData
{
    private readonly ImmutableDictionary<string, ImmutableArray<TaxEntry>> byJurisdiction;

    private ReferenceData(ImmutableDictionary<string, ImmutableArray<TaxEntry>> entries, LawBook law)
    {
        byJurisdiction = entries;
        Law = law;
    }

    /// <summary>The law packs that are known: those supplied, and those adopted so far.</summary>
    public LawBook Law { get; }

    public static ReferenceData None { get; } =
        new(ImmutableDictionary.Create<string, ImmutableArray<TaxEntry>>(StringComparer.Ordinal), LawBook.AsSupplied);

    public bool Knows(string jurisdiction) => byJurisdiction.ContainsKey(jurisdiction);

    /// <summary>
    /// The entry with the latest <c>from</c> on or before the day; of equal ones the last recorded.
    /// </summary>
    public TaxEntry On(string jurisdiction, LocalDate day)
    {
        if (!byJurisdiction.TryGetValue(jurisdiction, out var entries)) { return TaxEntry.Untaxed; }
        for (var index = entries.Length - 1; index >= 0; index--)
        {
            if (entries[index].From <= day) { return entries[index]; }
        }

        return TaxEntry.Untaxed;
    }

    /// <summary>Every entry of a jurisdiction, by first day and, of one day, in the order of recording.</summary>
    public ImmutableArray<TaxEntry> Of(string jurisdiction) => byJurisdiction.GetValueOrDefault(jurisdiction, []);

    /// <summary>The same with one more tax entry; entries must be added in the order in which they were recorded.</summary>
    public ReferenceData With(string jurisdiction, TaxEntry entry)
    {
        var entries = byJurisdiction.GetValueOrDefault(jurisdiction, []);
        var place = entries.Length;
        while (place > 0 && entries[place - 1].From > entry.From) { place--; }
        return new ReferenceData(byJurisdiction.SetItem(jurisdiction, entries.Insert(place, entry)), Law);
    }

    /// <summary>The same with one more adopted law pack.</summary>
    public ReferenceData With(AdoptedPack pack) => new(byJurisdiction, Law.With(pack));

    /// <summary>The same as if a law pack stood in the place of every pack of its jurisdiction: a question, never a state of the store.</summary>
    public ReferenceData InsteadOf(LawPack pack) => new(byJurisdiction, Law.InsteadOf(pack));
}
