using System.Diagnostics;
using Contracts.Agreements;
using Contracts.Payments;
using NodaTime;

namespace Contracts.History;

/// <summary>What each fact does. A fact that its view makes impossible has no effect and is listed as overtaken.</summary>
public sealed partial class AccountFold
{
    private void Apply(Recorded fact, LocalDate day)
    {
        var took = fact.Event switch
        {
            ContractEvent.Signed => true,
            ContractEvent.PaymentReceived e => Receive(fact.Key, e.Amount, isGoodwill: false),
            ContractEvent.CreditGiven e => Receive(fact.Key, e.Amount, isGoodwill: true),
            ContractEvent.PaymentReversed e => ReversePayment(e, fact, day),
            ContractEvent.RefundIssued e => Refund(e, fact, day),
            // The look-ahead of the day has already taken the day's last choice and last move.
            ContractEvent.PlanElected or ContractEvent.PlanCancelled or ContractEvent.Moved => true,
            // The look-ahead of the day has already started the clock with it.
            ContractEvent.InstrumentDelivered => Deliver(fact, day),
            ContractEvent.InstrumentSwapped e => Swap(e, fact),
            ContractEvent.UnitReceived e => TakeBack(e, day),
            // They are told and kept, and no figure knows them.
            ContractEvent.DamageReported or ContractEvent.LabelIssued or ContractEvent.DisputeOpened or ContractEvent.DisputePaperAttached
                or ContractEvent.DisputeAnswered or ContractEvent.DisputeClosed => true,
            ContractEvent.InstrumentExchanged e => Exchange(e, fact, day),
            ContractEvent.Returned => Return(fact, day),
            ContractEvent.BoughtEarly e => Buy(e, fact, day),
            ContractEvent.FeeWaived e => Waive(e.Fee, day),
            ContractEvent.LossReported e => Lose(e, fact, day),
            ContractEvent.Held => Turn(MayHold(status), ContractStatus.OnHold),
            ContractEvent.Released => Turn(status == ContractStatus.OnHold, ContractStatus.Active),
            ContractEvent.Reinstated e => Reinstate(e, fact, day),
            ContractEvent.SteppedUp => StepUp(fact, day),
            ContractEvent.MerchandiseCreditSpent e => Spend(e),
            ContractEvent.WrittenOff e => WriteOff(e.Amount),
            ContractEvent.Recovered e => WriteOff(Money.Zero - e.Amount),
            _ => throw new UnreachableException($"No effect is written for {fact.Event.GetType().Name}."),
        };
        watcher?.Happened(fact, took, this);
        if (!took) { overtaken.Add(fact.Sequence); }
    }

    private bool Receive(string source, Money amount, bool isGoodwill)
    {
        allocation.Receive(source, amount, isGoodwill);
        return true;
    }

    private bool ReversePayment(ContractEvent.PaymentReversed reversal, Recorded fact, LocalDate day)
    {
        if (UndoesPurchase(reversal.Payment))
        {
            if (allocation.Standing(PurchaseId(reversal.Payment)) is { } price) { Reverse(price, day); }
            purchase = null;
            OwnedOn = null;
            status = HasBegun(day) ? ContractStatus.Active : ContractStatus.Signed;
        }

        var refunded = allocation.ReverseLot(reversal.Payment);
        OpenRefund(fact, refunded, day);
        if (reversal.Code != EntryError)
        {
            ChargeFee($"returned:{fact.Key}", ChargeKind.Returned, terms[^1].ReturnedPaymentFee, day, fact.Sequence);
        }

        return true;
    }

    /// <summary>The code of a payment that was keyed by mistake: no bank returned it, so it brings no fee.</summary>
    public const string EntryError = "entry-error";

    private bool Refund(ContractEvent.RefundIssued refund, Recorded fact, LocalDate day)
    {
        OpenRefund(fact, allocation.Refund(refund.Amount), day);
        return true;
    }

    private void OpenRefund(Recorded fact, Money amount, LocalDate day)
    {
        if (!amount.IsPositive) { return; }
        Add(
            new Charge($"refund:{fact.Key}", ChargeKind.RefundToRecover, day, fact.Sequence, terms.Count - 1)
                .Of((ChargePart.Fee, amount)));
    }

    private bool Swap(ContractEvent.InstrumentSwapped swap, Recorded fact)
    {
        if (!MaySwap(status)) { return false; }
        HandOut(swap.Serial);
        // A unit handed in before its replacement was recorded is back already.
        var backAlready = unitsReceived.Contains(swap.Outgoing);
        if (!backAlready)
        {
            var effective = swap.ReturnBy.PlusDays(1);
            var fee = new Charge($"unreturned:{fact.Key}", ChargeKind.Unreturned, effective, fact.Sequence, terms.Count - 1)
                .Of((ChargePart.Fee, swap.UnreturnedFee));
            unitsOut.Add((effective, swap.Outgoing, fee));
        }

        return true;
    }

    /// <summary>A unit that goes out (again) has to come back after that.</summary>
    private void HandOut(string serial)
    {
        Serial = serial;
        unitsReceived.Remove(serial);
    }

    private bool TakeBack(ContractEvent.UnitReceived back, LocalDate day)
    {
        unitsReceived.Add(back.Serial);
        unitsOut.RemoveAll(unit => unit.Serial == back.Serial);
        for (var index = unreturned.Count - 1; index >= 0; index--)
        {
            var (serial, fee) = unreturned[index];
            if (serial != back.Serial) { continue; }
            unreturned.RemoveAt(index);
            if (fee.ReversedOn is null) { Reverse(fee, day); }
            watcher?.SpareUnitFound(fee);
        }

        return true;
    }

    private bool Exchange(ContractEvent.InstrumentExchanged exchange, Recorded fact, LocalDate day)
    {
        if (!MayExchange(status)) { return false; }
        var credit = RentCredit(pastDuePaid: false);
        var carried = Money.Min(credit - merged, exchange.Terms.PurchasePrice);
        CarriedEquity = Money.Max(carried, Money.Zero);
        watcher?.NotCarried(Equity(pastDuePaid: false) - CarriedEquity);
        merged = credit - carried;
        KeepDeliveryTax(day, fact.Sequence);
        terms.Add(exchange.Terms);
        var left = exchange.Terms.PurchasePrice - Equity(pastDuePaid: true);
        schedule = schedule.Exchanged(day, exchange.Terms.CreditShare.WholeOf(left), exchange.Terms.MonthlyRent);
        ChargeDeliveryTax(day, fact.Sequence);
        RetailValue = exchange.Instrument.RetailValue;
        LookForTrigger();
        HandOut(exchange.Instrument.Serial);
        watcher?.Names(exchange.Instrument);
        Kind = exchange.Instrument.Kind;
        SellAccessories(exchange.Accessories, day, fact.Key, fact.Sequence);
        return true;
    }

    private bool Return(Recorded fact, LocalDate day)
    {
        if (!MayReturn(status)) { return false; }
        if (status == ContractStatus.Lost && lossCharge is { ReversedOn: null }) { Reverse(lossCharge, day); }
        if (history.Signing.StartsAtDelivery && !HasBegun(day)) { TakeBackOrder(day); }
        KeepDeliveryTax(day, fact.Sequence);
        status = HasBegun(day) ? ContractStatus.Returned : ContractStatus.Cancelled;
        return true;
    }

    private bool Buy(ContractEvent.BoughtEarly buy, Recorded fact, LocalDate day)
    {
        // The money came in whatever the view makes of the purchase.
        allocation.Receive(fact.Key, buy.Amount, isGoodwill: false);
        if (!MayBuy(status)) { return false; }
        // The tax was fixed when the purchase was accepted (M57): it says itself whether the price bore any.
        var taxed = OnOther(buy.Tax.IsPositive, buy.Price, delivery is not null);
        Add(new Charge(PurchaseId(fact.Key), ChargeKind.Purchase, day, fact.Sequence, terms.Count - 1) { Jurisdiction = jurisdiction, Base = taxed }
            .Of((ChargePart.Tax, buy.Tax), (ChargePart.Price, buy.Price)));
        Own("early purchase");
        purchase = (fact.Key, day);
        return true;
    }

    private static string PurchaseId(string key) => $"purchase:{key}";

    private bool Waive(string fee, LocalDate day)
    {
        waived.Add(fee);
        if (allocation.Standing(fee) is not { } charge) { return false; }
        Reverse(charge, day);
        return true;
    }

    private bool Lose(ContractEvent.LossReported loss, Recorded fact, LocalDate day)
    {
        if (!MayBuy(status)) { return false; }
        status = ContractStatus.Lost;
        lossCharge = ChargeFee($"loss:{fact.Key}", ChargeKind.Loss, loss.Charge, day, fact.Sequence);
        return true;
    }

    private bool Reinstate(ContractEvent.Reinstated reinstated, Recorded fact, LocalDate day)
    {
        if (status != ContractStatus.Returned) { return false; }
        HandOut(reinstated.Serial ?? Serial);
        status = ContractStatus.Active;
        ChargeDeliveryTax(day, fact.Sequence);
        return true;
    }

    private bool StepUp(Recorded fact, LocalDate day)
    {
        if (!Turn(MayStepUp(status), ContractStatus.SteppedUp)) { return false; }
        KeepDeliveryTax(day, fact.Sequence);
        return true;
    }

    private bool WriteOff(Money amount)
    {
        WrittenOff += amount;
        HasWriteOff = HasWriteOff || amount.IsPositive;
        return true;
    }

    private bool Turn(bool allowed, ContractStatus to)
    {
        if (allowed) { status = to; }
        return allowed;
    }

    private void Reverse(Charge charge, LocalDate day)
    {
        allocation.Reverse(charge, day);
        watcher?.ChargeReversed(charge);
    }
}
