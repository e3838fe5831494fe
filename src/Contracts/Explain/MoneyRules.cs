namespace Contracts.Explain;

/// <summary>The rules of docs/money.md that trees name; a test holds number and name against the page.</summary>
internal static class MoneyRules
{
    public const string Frozen = "money.md M20, Frozen";
    public const string RentOfInstallment = "money.md M24, Rent of an installment";
    public const string PlanPart = "money.md M26, The plan part";
    public const string WhichRate = "money.md M28, Which rate";
    public const string TaxOnInstallment = "money.md M30, Tax on an installment";
    public const string TaxOnFees = "money.md M31, Tax on fees and sales";
    public const string Accessories = "money.md M32, Accessories";
    public const string TotalRent = "money.md M19, Total rent to own";
    public const string Applied = "money.md M33, How money is applied";
    public const string Unapplied = "money.md M34, Unapplied credit";
    public const string Goodwill = "money.md M35, Goodwill";
    public const string RefundOf = "money.md M38, Refund";
    public const string ToRecover = "money.md M39, Refund to recover";
    public const string LateFee = "money.md M40, Late fee";
    public const string ReturnedFee = "money.md M42, Returned-payment fee";
    public const string RentCredit = "money.md M46, Rent credit";
    public const string Equity = "money.md M47, Equity and merchandise credit";
    public const string Remaining = "money.md M48, Remaining to own and past due";
    public const string Price = "money.md M49, Early purchase price";
    public const string Ceilings = "money.md M50, Ceilings";
    public const string Payoff = "money.md M51, Payoff";
    public const string Swap = "money.md M54, Swap";
    public const string Exchange = "money.md M55, Exchange";
    public const string Purchase = "money.md M57, Purchase";
    public const string Loss = "money.md M58, Loss or theft";
    public const string Paid = "money.md M64, Paid";
    public const string Installments = "money.md M65, Installments";
    public const string Spending = "money.md M84, Spending merchandise credit";
    public const string ScheduleTotals = "money.md M66, Schedule totals";
    public const string NextDue = "money.md M67, Next due";
    public const string Ended = "money.md M68, Ended contracts";
    public const string DeliveryTax = "money.md M80, Delivery tax";
    public const string KeptTax = "money.md M81, When the instrument comes back";
    public const string Portfolio = "money.md M70, Portfolio";
    public const string StartAtDelivery = "money.md M83, Start at delivery";
    public const string TaxAtPurchase = "money.md M82, Tax at a purchase";

    /// <summary>All of them, for the test.</summary>
    public static IEnumerable<string> All => typeof(MoneyRules).GetFields().Select(rule => (string)rule.GetRawConstantValue()!);
}
