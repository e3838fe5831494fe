using System.Text.Json.Nodes;
using Contracts.Disclosures;
using NodaTime;

namespace Contracts.Tests.Support;

/// <summary>Credit that an exchange leaves over, and what becomes of it: by a chance of its own, so that the other lives are what they always were.</summary>
public sealed partial class Life
{
    private void LeaveOverAndSpend(LocalDate on, Account? account)
    {
        if (account is null) { return; }
        if (spends && account.Status == "active" && account.Equity.Cents > 2000 && spending.Next(3) == 0) { ExchangeForLess(on, (int)account.Equity.Cents); }
        if (account.MerchandiseCredit.IsPositive && spending.Next(3) == 0) { Spend(on, account.MerchandiseCredit); }
        // Rent is taken back after the credit that it brought was spent, and comes again.
        if (spends && payments.Count > 0 && account.CarriedEquity.IsPositive && spending.Next(3) == 0)
        {
            var code = spending.Next(2) == 0 ? "R01" : "entry-error";
            Say(With(Command("reverse-payment", on), ("payment", payments[spending.Next(payments.Count)]), ("code", code), ("reason", "bank")));
        }
    }

    /// <summary>For an instrument that the equity pays more than once, or nearly.</summary>
    private void ExchangeForLess(LocalDate on, int equity)
    {
        var price = Cents(spending.Next((equity / 3) + 1, equity + 1));
        var exchange = Command("exchange", on);
        exchange["instrument"] = new JsonObject { ["kind"] = "recorder", ["serial"] = NextSerial(), ["condition"] = "used" };
        exchange["terms"] = new JsonObject
        {
            ["cashPrice"] = price, ["purchasePrice"] = price, ["monthlyRent"] = "15.00", ["creditShare"] = spending.Next(3) == 0 ? "0.50" : "1.00",
            ["earlyPurchase"] = new JsonArray(new JsonObject { ["discount"] = "0.25" }),
            ["lateFee"] = new JsonObject { ["amount"] = "2.50", ["graceDays"] = 10 },
        };
        exchange["accessories"] = new JsonArray();
        Say(exchange);
    }

    /// <summary>All of the credit, some of it or too much, on the step's day or before it; now and then for less than the sale's price allows.</summary>
    private void Spend(LocalDate on, Money credit)
    {
        var amount = spending.Next(4) switch
        {
            0 => (int)credit.Cents,
            1 => (int)credit.Cents + spending.Next(1, 500),
            _ => spending.Next(1, (int)credit.Cents + 1),
        };
        var spend = With(Command("spend-credit", on.PlusDays(-spending.Next(2) * spending.Next(0, 30))), ("amount", Cents(amount)));
        spend["sale"] = new JsonObject { ["description"] = "a music stand", ["price"] = Cents(spending.Next(4) == 0 ? spending.Next(1, 5000) : 200000) };
        Say(spend);
    }
}
