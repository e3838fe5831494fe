using System.Collections.Immutable;
using Contracts.Agreements;
using Contracts.Compliance;
using NodaTime;

namespace Contracts.Quotes;

/// <summary>What falls due on one day of the schedule. The tax of the first one holds a delivery tax (M80) as well.</summary>
public sealed record QuotedInstallment(LocalDate DueOn, Money Rent, Money Plan, Money Tax);

/// <summary>Where a family stands at the end of a due date when everything so far was paid on its day.</summary>
/// <param name="On">The due date.</param>
/// <param name="PaidSoFar">All money paid: rent, plan, tax, accessories (M64).</param>
/// <param name="Equity">What of it counts toward the instrument (M47).</param>
/// <param name="PriceToOwn">The early purchase price (M49, M50), without tax; 0.00 once the instrument is theirs.</param>
/// <param name="Basis"><c>terms</c>, the citation of a ceiling that binds, or <c>none</c> once the instrument is theirs.</param>
/// <param name="PriceTax">The tax on that price (M82).</param>
/// <param name="RefundIfReturned">What comes free when the instrument is brought back after this day and before the next due date.</param>
public sealed record QuotedMonth(
    LocalDate On, Money PaidSoFar, Money Equity, Money PriceToOwn, string Basis, Money PriceTax, Money RefundIfReturned)
{
    /// <summary>What owning it has cost when it is bought on this day: paid so far, the price and its tax.</summary>
    public Money TotalIfBought => PaidSoFar + PriceToOwn + PriceTax;

    /// <summary>What renting has cost when the instrument is brought back after this day and before the next due date.</summary>
    public Money CostIfReturned => PaidSoFar - RefundIfReturned;
}

/// <summary>A price with the tax of a sale on it, rounded once.</summary>
public sealed record QuotedSale(Money Price, Money Tax)
{
    public Money Total => Price + Tax;
}

/// <summary>
/// What an offer costs: every installment, and where the family stands at each, if everything is paid on time. Made by
/// the fold that makes accounts (<see cref="QuoteMaker"/>), for a family that signs on the start date.
/// </summary>
/// <remarks>Rent-to-own disclosure rules vary by state. A quote is not a disclosure and not legal or tax advice; counsel decides.</remarks>
/// <param name="Offer">What is offered.</param>
/// <param name="Installments">The schedule to term.</param>
/// <param name="TotalCost">All rents to own it (M66).</param>
/// <param name="CostOfRental">Total cost less the cash price (M66).</param>
/// <param name="Months">The position at each due date.</param>
/// <param name="Accessories">What is bought with the signing, with its tax; part of every figure of money paid.</param>
/// <param name="Outright">The instrument at its cash price on the start date, with the tax of a sale, without accessories.</param>
/// <param name="Law">What the law pack of the state forbids in the offer, and what could not be checked.</param>
public sealed record Quote(
    Offer Offer, ImmutableArray<QuotedInstallment> Installments, Money TotalCost, Money CostOfRental,
    ImmutableArray<QuotedMonth> Months, QuotedSale Accessories, QuotedSale Outright, LawFindings Law)
{
    /// <summary>Everything paid when the family rents to the end: the position at the last due date.</summary>
    public Money TotalToTerm => Months[^1].PaidSoFar;

    /// <summary>Everything paid when the family buys today: the instrument and the accessories with their tax.</summary>
    public Money TotalOutright => Outright.Total + Accessories.Total;
}
