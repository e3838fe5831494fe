using Contracts.Agreements;
using Contracts.Schedule;

namespace Contracts.Terms;

/// <summary>What terms must satisfy before anyone can sign them, whatever the state's act adds.</summary>
public static class TermsRules
{
    /// <summary>The longest schedule the engine writes: a hundred years of months.</summary>
    public const int MostInstallments = 1200;

    private const int LongestGraceDays = 366;

    /// <summary>The first fault, or null when the terms can be signed.</summary>
    public static Refusal? Fault(ContractTerms terms)
    {
        if (!terms.CashPrice.IsPositive) { return Bad("terms.cashPrice", "The cash price must be above zero."); }
        if (!terms.PurchasePrice.IsPositive) { return Bad("terms.purchasePrice", "The purchase price must be above zero."); }
        if (!terms.MonthlyRent.IsPositive) { return Bad("terms.monthlyRent", "The monthly rent must be above zero."); }
        if (terms.CreditShare <= Rate.Nothing || terms.CreditShare > Rate.Whole)
        {
            return Bad("terms.creditShare", "The credit share must be above 0 and at most 1.");
        }

        if (terms.Introductory.Months < 0 || terms.Introductory.Months > MostInstallments)
        {
            return Bad("terms.introductory.months", "The introductory months must be a whole number from 0.");
        }

        if (terms.Introductory.Payment < Money.Zero) { return Bad("terms.introductory.payment", Negative); }
        if (terms.Plan is { } plan && plan.Monthly < Money.Zero) { return Bad("terms.plan.monthly", Negative); }
        if (terms.LateFee.Amount < Money.Zero) { return Bad("terms.lateFee.amount", Negative); }
        if (terms.LateFee.GraceDays is < 0 or > LongestGraceDays)
        {
            return Bad("terms.lateFee.graceDays", $"The grace must be from 0 to {LongestGraceDays} days.");
        }

        if (terms.ReturnedPaymentFee < Money.Zero) { return Bad("terms.returnedPaymentFee", Negative); }
        return FaultOfTiers(terms) ?? FaultOfTotal(terms) ?? FaultOfLength(terms);
    }

    private const string Negative = "The amount cannot be negative.";

    private static Refusal? FaultOfTiers(ContractTerms terms)
    {
        int? before = 0;
        foreach (var tier in terms.EarlyPurchase)
        {
            if (tier.Discount < Rate.Nothing || tier.Discount > Rate.Whole)
            {
                return Bad("terms.earlyPurchase.discount", "A discount must be from 0 to 1.");
            }

            if (before is null || (tier.ThroughMonth is { } month && month <= before))
            {
                return Bad("terms.earlyPurchase.throughMonth", "Tiers must follow each other; only the last has no end.");
            }

            before = tier.ThroughMonth;
        }

        return null;
    }

    /// <summary>A share of next to nothing makes a total that no amount can hold; it is found before it is worked out.</summary>
    private static Refusal? FaultOfTotal(ContractTerms terms) =>
        terms.CreditShare.Of(new Money(Money.LargestCents)) < terms.PurchasePrice
            ? Bad("terms.creditShare", $"The rents to own it would add up to more than {new Money(Money.LargestCents)}.")
            : null;

    private static Refusal? FaultOfLength(ContractTerms terms) =>
        terms.TotalRent.Cents / terms.MonthlyRent.Cents >= MostInstallments
            ? Bad("terms.monthlyRent", $"The schedule would have more than {MostInstallments} installments.")
            : null;

    private static Refusal Bad(string field, string detail) => new(RefusalCode.TermsInvalid, detail, field);
}
