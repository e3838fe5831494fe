using System.Collections.Immutable;
using Contracts.Law;
using NodaTime;

namespace Contracts.Terms;

/// <summary>The tax rates known at one moment, by jurisdiction, and the law packs known then. An immutable value.</summary>
public sealed class TaxRates
{
    private readonly ImmutableDictionary<string, ImmutableArray<TaxEntry>> byJurisdiction;

    private TaxRates(ImmutableDictionary<string, ImmutableArray<TaxEntry>> entries, LawBook law)
    {
        byJurisdiction = entries;
        Law = law;
    }

    /// <summary>The law packs that are known: those supplied, and those adopted so far.</summary>
    public LawBook Law { get; }

    public static TaxRates None { get; } =
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

    /// <summary>These rates with one more entry; entries must be added in the order in which they were recorded.</summary>
    public TaxRates With(string jurisdiction, TaxEntry entry)
    {
        var entries = byJurisdiction.GetValueOrDefault(jurisdiction, []);
        var place = entries.Length;
        while (place > 0 && entries[place - 1].From > entry.From) { place--; }
        return new TaxRates(byJurisdiction.SetItem(jurisdiction, entries.Insert(place, entry)), Law);
    }

    /// <summary>The same with one more adopted law pack.</summary>
    public TaxRates With(AdoptedPack pack) => new(byJurisdiction, Law.With(pack));
}
