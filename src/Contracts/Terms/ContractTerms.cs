using System.Collections.Immutable;

namespace Contracts.Terms;

/// <summary>
/// The terms a family signed. Frozen at signing; only an exchange brings others.
/// </summary>
/// <param name="CashPrice">The price stated in the agreement at which the shop sells this instrument for cash.</param>
/// <param name="PurchasePrice">The rental equity that buys the instrument.</param>
/// <param name="Introductory">The first period and its small payment; zero months when there is none.</param>
/// <param name="MonthlyRent">Rent of each later month.</param>
/// <param name="CreditShare">The part of each rental payment that counts toward purchase, above 0 and at most 1.</param>
/// <param name="EarlyPurchase">Discount tiers, in order of month; one without an end comes last.</param>
/// <param name="Plan">The optional protection plan, or null when the shop offers none.</param>
/// <param name="LateFee">The late fee; an amount of zero means none.</param>
/// <param name="ReturnedPaymentFee">Charged when a payment is reversed by the bank; zero means none.</param>
public sealed record ContractTerms(
    Money CashPrice,
    Money PurchasePrice,
    IntroductoryPeriod Introductory,
    Money MonthlyRent,
    Rate CreditShare,
    ImmutableArray<EarlyPurchaseTier> EarlyPurchase,
    ProtectionPlan? Plan,
    LateFeeTerms LateFee,
    Money ReturnedPaymentFee)
{
    /// <summary>Total rent to own from zero equity: purchase price / credit share, rounded.</summary>
    public Money TotalRent => CreditShare.WholeOf(PurchasePrice);

    public bool Equals(ContractTerms? other) =>
        other is not null && CashPrice == other.CashPrice && PurchasePrice == other.PurchasePrice
        && Introductory == other.Introductory && MonthlyRent == other.MonthlyRent && CreditShare == other.CreditShare
        && EarlyPurchase.AsSpan().SequenceEqual(other.EarlyPurchase.AsSpan()) && Plan == other.Plan
        && LateFee == other.LateFee && ReturnedPaymentFee == other.ReturnedPaymentFee;

    public override int GetHashCode() => HashCode.Combine(CashPrice, PurchasePrice, MonthlyRent, CreditShare);
}

/// <summary>The introductory period: its length in whole months and what it costs.</summary>
public sealed record IntroductoryPeriod(int Months, Money Payment);

/// <summary>
/// A discount on the price to own, good on days before the anchor plus that many months; no month means for ever.
/// </summary>
public sealed record EarlyPurchaseTier(int? ThroughMonth, Rate Discount);

/// <summary>The protection plan's monthly price, and whether the introductory months are charged for.</summary>
public sealed record ProtectionPlan(Money Monthly, bool ChargedInIntroductory);

/// <summary>The late fee: due when a part is still unpaid at the end of the due date plus the grace days.</summary>
public sealed record LateFeeTerms(Money Amount, int GraceDays);
