using Contracts.Equity;
using Contracts.History;
using Contracts.Payments;
using NodaTime;

namespace Contracts.Agreements;

/// <summary>Money that comes, goes back, is forgiven or is given up.</summary>
public static partial class ContractDecider
{
    private static Decision Pay(Situation now, ContractCommand.Pay c) =>
        NotPositive(c.Amount) is { } refusal
            ? Refuse(refusal)
            : Accept(new ContractEvent.PaymentReceived(c.Amount, c.Method, c.Reference) { On = now.On });

    private static Decision ReversePayment(Situation now, ContractCommand.ReversePayment c)
    {
        var payment = now.History.Facts.FirstOrDefault(fact =>
            fact.Key == c.Payment && fact.Event is ContractEvent.PaymentReceived or ContractEvent.BoughtEarly);
        if (payment is null)
        {
            return Refuse(RefusalCode.PaymentUnknown, $"This contract has no payment with the key '{c.Payment}'.", "payment");
        }

        if (now.History.Facts.Any(fact => fact.Event is ContractEvent.PaymentReversed r && r.Payment == c.Payment))
        {
            return Refuse(RefusalCode.PaymentAlreadyReversed, $"The payment '{c.Payment}' is already reversed.", "payment");
        }

        return now.On < payment.Event.On
            ? Refuse(
                RefusalCode.ReversalBeforePayment, "A payment cannot be reversed before its own day.", "on", Iso(payment.Event.On))
            : Accept(new ContractEvent.PaymentReversed(c.Payment, c.Code) { On = now.On });
    }

    private static Decision Refund(Situation now, ContractCommand.Refund c)
    {
        if (NotPositive(c.Amount) is { } refusal) { return Refuse(refusal); }
        // A recording date before the signing (a contract dated ahead) sees no credit of its own.
        var today = LocalDate.Max(now.Context.RecordingDate, now.History.Signing.On);
        var most = Money.Min(now.Account.UnappliedCredit, now.At(today).UnappliedCredit);
        return c.Amount > most
            ? Refuse(
                RefusalCode.RefundExceedsCredit, $"At most {most} of unapplied credit can be refunded.", "amount", most.ToString())
            : Accept(new ContractEvent.RefundIssued(c.Amount) { On = now.On });
    }

    private static Decision Credit(Situation now, ContractCommand.Credit c) =>
        NotPositive(c.Amount) is { } refusal
            ? Refuse(refusal)
            : Accept(new ContractEvent.CreditGiven(c.Amount) { On = now.On });

    private static Decision Waive(Situation now, ContractCommand.Waive c)
    {
        if (now.History.Facts.Any(fact => fact.Event is ContractEvent.FeeWaived waived && waived.Fee == c.Fee))
        {
            return Refuse(RefusalCode.FeeAlreadyWaived, $"The fee '{c.Fee}' is already waived.", "fee");
        }

        var stands = now.Account.Charges.Any(charge => charge.Id == c.Fee && charge.ReversedOn is null && IsFee(charge.Kind));
        return stands
            ? Accept(new ContractEvent.FeeWaived(c.Fee) { On = now.On })
            : Refuse(RefusalCode.FeeUnknown, $"No fee '{c.Fee}' stands on {Iso(now.On)}.", "fee");
    }

    private static bool IsFee(ChargeKind kind) =>
        kind is ChargeKind.Late or ChargeKind.Returned or ChargeKind.Unreturned or ChargeKind.Loss;

    private static Decision Buy(Situation now, ContractCommand.Buy c)
    {
        if (!AccountFold.MayBuy(now.Account.Status)) { return Forbidden(now, "bought"); }
        var offer = EarlyPurchase.On(now.Account);
        return c.Amount != offer.Payoff
            ? Refuse(new Refusal(
                RefusalCode.PurchaseAmountWrong, $"The payoff on {Iso(now.On)} is {offer.Payoff}, as known now.",
                "amount", offer.Payoff.ToString(), offer.Basis == EarlyPurchase.ByTerms ? null : offer.Basis))
            : Accept(new ContractEvent.BoughtEarly(
                c.Amount, c.Method, c.Reference, offer.Price, offer.Basis, offer.Tax) { On = now.On });
    }

    private static Decision WriteOff(Situation now, ContractCommand.WriteOff c)
    {
        if (NotPositive(c.Amount) is { } refusal) { return Refuse(refusal); }
        var most = Money.Max(now.Account.PastDue - now.Account.WrittenOff, Money.Zero);
        return c.Amount > most
            ? Refuse(RefusalCode.WriteOffExceedsPastDue, $"At most {most} is past due and not written off.", "amount", most.ToString())
            : Accept(new ContractEvent.WrittenOff(c.Amount) { On = now.On });
    }

    private static Decision Recover(Situation now, ContractCommand.Recover c)
    {
        if (NotPositive(c.Amount) is { } refusal) { return Refuse(refusal); }
        var most = now.Account.WrittenOff;
        return c.Amount > most
            ? Refuse(RefusalCode.RecoveryExceedsWriteOff, $"At most {most} is written off.", "amount", most.ToString())
            : Accept(new ContractEvent.Recovered(c.Amount) { On = now.On });
    }

    private static Refusal? NotPositive(Money amount, string field = "amount") =>
        amount.IsPositive ? null : new Refusal(RefusalCode.AmountNotPositive, "The amount must be above zero.", field);
}
