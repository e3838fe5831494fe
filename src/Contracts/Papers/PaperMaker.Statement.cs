using System.Collections.Immutable;
using Contracts.Agreements;
using Contracts.Payments;

namespace Contracts.Papers;

/// <summary>A statement lists all that was charged and all money that moved by its day.</summary>
public static partial class PaperMaker
{
    private static StatementPart Statement(Making made)
    {
        var charges = made.State.Charges.Select(Line).ToImmutableArray();
        var money = Money(made).ToImmutableArray();
        return new StatementPart(
            charges, Sum(charges.Where(line => line.ReversedOn is null).Select(line => line.Total)),
            money, Sum(money.Select(line => line.Amount)));
    }

    private static ChargeLine Line(Charge charge) => new(
        charge.Id, charge.Kind.Word(), charge.DueOn, charge.Of(ChargePart.Rent), charge.Of(ChargePart.Plan),
        charge.Of(ChargePart.Price) + charge.Of(ChargePart.Fee), charge.Of(ChargePart.Tax),
        Sum(charge.Items.Select(item => item.Charged)), Sum(charge.Items.Select(item => item.Open)), charge.ReversedOn);

    private static IEnumerable<MoneyLine> Money(Making made)
    {
        var payments = new Dictionary<string, Money>(StringComparer.Ordinal);
        foreach (var fact in made.History.Facts)
        {
            if (fact.Event.On > made.State.On) { yield break; }
            switch (fact.Event)
            {
                case ContractEvent.PaymentReceived e:
                    payments[fact.Key] = e.Amount;
                    yield return new MoneyLine(e.On, "payment", fact.Key, e.Method, e.Reference, e.Amount, Contracts.Money.Zero);
                    break;
                case ContractEvent.BoughtEarly e:
                    payments[fact.Key] = e.Amount;
                    yield return new MoneyLine(e.On, "early purchase", fact.Key, e.Method, e.Reference, e.Amount, Contracts.Money.Zero);
                    break;
                case ContractEvent.PaymentReversed e when payments.Remove(e.Payment, out var amount):
                    yield return new MoneyLine(e.On, "payment returned", fact.Key, null, e.Code, Contracts.Money.Zero - amount, Contracts.Money.Zero);
                    break;
                case ContractEvent.RefundIssued e:
                    yield return new MoneyLine(e.On, "refund", fact.Key, null, null, Contracts.Money.Zero - e.Amount, Contracts.Money.Zero);
                    break;
                case ContractEvent.CreditGiven e:
                    yield return new MoneyLine(e.On, "goodwill credit", fact.Key, null, null, Contracts.Money.Zero, e.Amount);
                    break;
                default: break; // No money moves.
            }
        }
    }

    private static Money Sum(IEnumerable<Money> amounts) => amounts.Aggregate(Contracts.Money.Zero, (sum, amount) => sum + amount);
}
