using System.Collections.Immutable;
using Contracts.Replays;
using Contracts.Terms;
using NodaTime;

namespace Contracts.Store;

/// <summary>A jurisdiction's combined rate from a day on. Stored for ever: add fields, never rename or remove.</summary>
/// <param name="Jurisdiction">Whose rate it is.</param>
/// <param name="From">The first day on which it holds.</param>
/// <param name="Rate">The combined rate.</param>
/// <param name="Taxes">What is taxed at all.</param>
/// <param name="Regime">The word of the regime; left out for each-payment, the only one before there were others.</param>
/// <param name="Parts">The rate by authority; left out where there are none.</param>
public sealed record TaxRateSet(
    string Jurisdiction, LocalDate From, Rate Rate, TaxedParts Taxes, string? Regime = null, ImmutableArray<TaxPart>? Parts = null)
{
    private const string Prefix = "tax:";

    /// <summary>No contract id has a colon, so the streams of one family never meet the other's.</summary>
    public static string StreamOf(string jurisdiction) => Prefix + jurisdiction;

    /// <summary>An entry as it is stored.</summary>
    public static TaxRateSet Of(string jurisdiction, TaxEntry entry) => new(
        jurisdiction, entry.From, entry.Rate, entry.Taxes,
        entry.Regime == TaxRegime.EachPayment ? null : entry.Regime.Word(),
        entry.Parts.IsDefaultOrEmpty ? null : entry.Parts);

    /// <summary>The rates with this entry, which must be the one recorded last.</summary>
    public ReferenceData AddTo(ReferenceData rates) => rates.With(Jurisdiction, Entry());

    /// <summary>The same with its place in the order of recording.</summary>
    internal ReferenceFact Fact(long sequence, Instant at) => new ReferenceFact.Tax(sequence, at, Jurisdiction, Entry());

    private TaxEntry Entry() => new(From, Rate, Taxes, RegimeOf(), Parts ?? []);

    private TaxRegime RegimeOf() =>
        Regime is null ? TaxRegime.EachPayment : TaxRegimeWords.Read(Regime)
            ?? throw new StoreException($"No tax regime is stored as '{Regime}'; did a newer version write it?");
}
