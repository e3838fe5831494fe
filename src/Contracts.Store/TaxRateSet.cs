using Contracts.Terms;
using NodaTime;

namespace Contracts.Store;

/// <summary>A jurisdiction's combined rate from a day on. Stored for ever: add fields, never rename or remove.</summary>
public sealed record TaxRateSet(string Jurisdiction, LocalDate From, Rate Rate, TaxedParts Taxes)
{
    private const string Prefix = "tax:";

    /// <summary>No contract id has a colon, so the streams of one family never meet the other's.</summary>
    public static string StreamOf(string jurisdiction) => Prefix + jurisdiction;

    public static TaxRateSet Of(string jurisdiction, TaxEntry entry) => new(jurisdiction, entry.From, entry.Rate, entry.Taxes);

    public TaxRates AddTo(TaxRates rates) => rates.With(Jurisdiction, new TaxEntry(From, Rate, Taxes));
}
