using Contracts.History;
using NodaTime;

namespace Contracts.Agreements;

/// <summary>Rent credit beyond what the instrument can take, spent on a sale.</summary>
public static partial class ContractDecider
{
    private static Decision SpendCredit(Situation now, ContractCommand.SpendCredit c)
    {
        if ((NotPositive(c.Amount) ?? NotPositive(c.SalePrice, "sale.price")) is { } refusal) { return Refuse(refusal); }
        var credit = CreditToSpend(now);
        var most = Money.Min(credit, c.SalePrice);
        return c.Amount > most
            ? Refuse(
                RefusalCode.MerchandiseExceedsCredit,
                credit < c.SalePrice ? $"At most {most} of merchandise credit can be spent." : $"No more than the price of the sale, {most}, can be spent on it.",
                "amount", most.ToString())
            : Accept(new ContractEvent.MerchandiseCreditSpent(c.Amount, c.Description, c.SalePrice) { On = now.On });
    }

    /// <summary>
    /// The least merchandise credit on the command's day, today and every later day of which something is known: what has been spent or taken back by then
    /// cannot be spent before. Between those days it only grows, because only a fact takes rent back.
    /// </summary>
    private static Money CreditToSpend(Situation now)
    {
        // A recording date before the signing (a contract dated ahead) sees no credit of its own, as for a refund.
        var today = LocalDate.Max(now.Context.RecordingDate, now.History.Signing.On);
        var least = Money.Min(now.Account.MerchandiseCredit, now.At(today).MerchandiseCredit);
        var last = now.On;
        foreach (var fact in now.History.Facts)
        {
            if (fact.Event.On <= last) { continue; }
            last = fact.Event.On;
            least = Money.Min(least, now.At(last).MerchandiseCredit);
        }

        return least;
    }
}
