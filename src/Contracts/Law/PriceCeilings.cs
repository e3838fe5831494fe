using NodaTime;

namespace Contracts.Law;

/// <summary>Where an agreement stands when its early purchase price is asked.</summary>
/// <param name="SignedOn">The day of the agreement.</param>
/// <param name="On">The day of the question.</param>
/// <param name="CashPrice">The cash price of the terms in force.</param>
/// <param name="RetailValue">The unit's average retail value, where it was given.</param>
/// <param name="TotalRent">All rent of the terms in force.</param>
/// <param name="RentNotYetDue">What of it has not fallen due.</param>
/// <param name="RentPaid">Rent paid and equity carried, as it would be with all past-due rent paid.</param>
/// <param name="Remaining">Installments that have not fallen due.</param>
/// <param name="Installments">Installments in all.</param>
/// <param name="Payment">One periodic payment.</param>
public sealed record PriceStanding(
    LocalDate SignedOn, LocalDate On, Money CashPrice, Money? RetailValue, Money TotalRent, Money RentNotYetDue, Money RentPaid,
    int Remaining, int Installments, Money Payment);

/// <summary>
/// The highest early purchase price that a pack allows. What is past due is asked apart and counts as paid here, so that
/// nothing is asked twice; no act read says how to round, and a limit is rounded down.
/// </summary>
public static class PriceCeilings
{
    /// <summary>The lowest of the ceilings, with its citation and the exact fraction of a cent; null where there is none.</summary>
    public static (Money Price, Fraction Exact, string Citation)? Of(LawPack pack, PriceStanding now)
    {
        (Money Price, Fraction Exact, string Citation)? lowest = null;
        foreach (var rule in pack.Of<LawRule.PurchasePrice>(now.SignedOn))
        {
            if (Exact(rule, now) is not { } exact) { continue; }
            var price = pack.RoundsToNearest ? exact.Rounded() : exact.RoundedDown();
            if (rule.FloorOfOnePayment) { price = Money.Max(price, now.Payment); }
            if (lowest is not { } low || price < low.Price) { lowest = (price, exact, rule.Citation); }
        }

        return lowest;
    }

    /// <summary>What one rule comes to in cents, never below zero; null where it does not bind on this day or gives no figure.</summary>
    public static Fraction? Exact(LawRule.PurchasePrice rule, PriceStanding now)
    {
        if (rule.FromMonth is { } from && now.On < now.SignedOn.PlusMonths(from)) { return null; }
        if (rule.BeforeMonth is { } before && now.On >= now.SignedOn.PlusMonths(before)) { return null; }
        Fraction? basis = rule.Formula switch
        {
            PriceFormula.CashPrice => Fraction.Of(now.CashPrice),
            PriceFormula.PaymentsNotYetDue => Fraction.Of(now.RentNotYetDue),
            PriceFormula.TotalLessPaid => Fraction.Of(now.RentNotYetDue),
            _ => null,
        };
        if (basis is not { } start) { return null; }
        var exact = (start * TimesOf(rule, now)) - (rule.LessShareOfPaid * Fraction.Of(now.RentPaid));
        return Fraction.Max(exact, Fraction.Zero);
    }

    private static Fraction TimesOf(LawRule.PurchasePrice rule, PriceStanding now) => rule.Times switch
    {
        PriceTimes.RemainingOverTotal => now.Installments == 0 ? Fraction.Zero : Fraction.Of(now.Remaining, now.Installments),
        PriceTimes.RetailOverTotal => now.TotalRent == Money.Zero
            ? Fraction.Zero
            : new Fraction((now.RetailValue ?? now.CashPrice).Cents, now.TotalRent.Cents),
        _ => rule.Share,
    };
}
