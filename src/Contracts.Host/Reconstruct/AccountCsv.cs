using System.Globalization;
using Contracts.Disclosures;

namespace Contracts.Host.Reconstruct;

/// <summary>One account as a line of comma-separated values (RFC 4180): flat, in the order of the JSON.</summary>
public static class AccountCsv
{
    public const string Header =
        "contract,on,status,kind,serial,equity,carriedEquity,remainingToOwn,pastDue,unappliedCredit,goodwillCredit,"
        + "merchandiseCredit,price,basis,priceTax,payoff,paidTotal,paidRent,paidPlan,paidTax,paidFees,paidAccessories,"
        + "paidPurchase,installments,due,paid,remaining,remainingBySchedule,totalCost,costOfRental,nextDueOn,nextDueAmount";

    public static string Row(Account a) => string.Join(
        ',',
        a.Contract, Date(a.On), a.Status, Cell(a.Kind), Cell(a.Serial), a.Equity, a.CarriedEquity, a.RemainingToOwn, a.PastDue,
        a.UnappliedCredit, a.GoodwillCredit, a.MerchandiseCredit, a.EarlyPurchase.Price, Cell(a.EarlyPurchase.Basis),
        a.EarlyPurchase.Tax, a.EarlyPurchase.Payoff, a.Paid.Total, a.Paid.Rent, a.Paid.Plan, a.Paid.Tax, a.Paid.Fees,
        a.Paid.Accessories, a.Paid.Purchase, a.Installments.Total, a.Installments.Due, a.Installments.Paid,
        a.Installments.Remaining, a.RemainingBySchedule, a.TotalCost, a.CostOfRental,
        a.NextDue is { } next ? Date(next.On) : "", a.NextDue?.Amount.ToString() ?? "");

    /// <summary>Quotes a cell that needs it, and keeps a spreadsheet from reading text as a formula.</summary>
    public static string Cell(string text)
    {
        var safe = text.Length > 0 && "=+-@\t\r".Contains(text[0], StringComparison.Ordinal) ? "'" + text : text;
        return safe.AsSpan().ContainsAny(",\"\r\n") ? $"\"{safe.Replace("\"", "\"\"", StringComparison.Ordinal)}\"" : safe;
    }

    private static string Date(NodaTime.LocalDate date) => date.ToString("uuuu'-'MM'-'dd", CultureInfo.InvariantCulture);
}
