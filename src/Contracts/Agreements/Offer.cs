using System.Collections.Immutable;
using Contracts.Instruments;
using Contracts.Terms;
using NodaTime;

namespace Contracts.Agreements;

/// <summary>What a family is asked to sign: all that a signing says but the contract's id and the day.</summary>
/// <param name="Household">Who asks, where the quote names them; no figure depends on it.</param>
/// <param name="Instrument">The unit, where the quote is for one; no figure depends on it.</param>
/// <param name="State">The USPS code of the state whose act applies.</param>
/// <param name="Jurisdiction">Whose tax rates apply.</param>
/// <param name="StartOn">The first day of the rental: every due date is counted from it.</param>
/// <param name="Terms">The terms.</param>
/// <param name="Accessories">What is bought with the signing.</param>
/// <param name="WithPlan">Whether the protection plan is elected from the start.</param>
/// <param name="LawPack">The law pack it was quoted under; null takes the one in force on the start date.</param>
public sealed record Offer(
    string? Household, Instrument? Instrument, string State, string Jurisdiction, LocalDate StartOn,
    ContractTerms Terms, ImmutableArray<Accessory> Accessories, bool WithPlan, string? LawPack = null)
{
    /// <summary>Whether the rental begins on the day of delivery; every date of the quote is then one expected (M83).</summary>
    public bool StartsAtDelivery { get; init; }
}
