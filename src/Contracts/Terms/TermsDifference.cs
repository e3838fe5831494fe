using System.Globalization;

namespace Contracts.Terms;

/// <summary>Where two sets of terms part, by the field names of a command.</summary>
public static class TermsDifference
{
    private const string None = "none";

    /// <summary>The first field in which other terms differ from the wanted ones, with the wanted value; null where they are the same.</summary>
    public static (string Field, string Right)? First(ContractTerms wanted, ContractTerms other)
    {
        if (wanted == other) { return null; }
        if (wanted.CashPrice != other.CashPrice) { return ("terms.cashPrice", wanted.CashPrice.ToString()); }
        if (wanted.PurchasePrice != other.PurchasePrice) { return ("terms.purchasePrice", wanted.PurchasePrice.ToString()); }
        if (wanted.Introductory.Months != other.Introductory.Months) { return ("terms.introductory.months", Count(wanted.Introductory.Months)); }
        if (wanted.Introductory.Payment != other.Introductory.Payment) { return ("terms.introductory.payment", wanted.Introductory.Payment.ToString()); }
        if (wanted.MonthlyRent != other.MonthlyRent) { return ("terms.monthlyRent", wanted.MonthlyRent.ToString()); }
        if (wanted.CreditShare != other.CreditShare) { return ("terms.creditShare", wanted.CreditShare.ToString()); }
        if (!wanted.EarlyPurchase.AsSpan().SequenceEqual(other.EarlyPurchase.AsSpan())) { return ("terms.earlyPurchase", Words(wanted)); }
        return OfFees(wanted, other);
    }

    private static (string Field, string Right)? OfFees(ContractTerms wanted, ContractTerms other)
    {
        if (wanted.Plan?.Monthly != other.Plan?.Monthly) { return ("terms.plan.monthly", wanted.Plan?.Monthly.ToString() ?? None); }
        if (wanted.Plan?.ChargedInIntroductory != other.Plan?.ChargedInIntroductory)
        {
            return ("terms.plan.chargedInIntroductory", wanted.Plan?.ChargedInIntroductory == true ? "true" : "false");
        }

        if (wanted.LateFee.Amount != other.LateFee.Amount) { return ("terms.lateFee.amount", wanted.LateFee.Amount.ToString()); }
        if (wanted.LateFee.GraceDays != other.LateFee.GraceDays) { return ("terms.lateFee.graceDays", Count(wanted.LateFee.GraceDays)); }
        return ("terms.returnedPaymentFee", wanted.ReturnedPaymentFee.ToString());
    }

    /// <summary>The tiers as a sentence has them: <c>0.40 through month 3, 0.25 for ever</c>.</summary>
    private static string Words(ContractTerms terms) => terms.EarlyPurchase.IsEmpty ? None : string.Join(
        ", ", terms.EarlyPurchase.Select(tier => tier.ThroughMonth is { } month ? $"{tier.Discount} through month {Count(month)}" : $"{tier.Discount} for ever"));

    private static string Count(int number) => number.ToString(CultureInfo.InvariantCulture);
}
