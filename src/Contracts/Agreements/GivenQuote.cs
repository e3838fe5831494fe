using NodaTime;

namespace Contracts.Agreements;

/// <summary>A quote that has been given to a family and recorded.</summary>
/// <param name="Id">Its name, as the family has it on paper.</param>
/// <param name="Offer">What it offers; the household is always named.</param>
/// <param name="ValidThrough">The last day on which a signing may name it.</param>
public sealed record GivenQuote(string Id, Offer Offer, LocalDate ValidThrough);
