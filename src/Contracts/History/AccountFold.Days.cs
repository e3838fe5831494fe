using Contracts.Agreements;
using Contracts.Payments;
using Contracts.Schedule;
using Contracts.Terms;
using NodaTime;

namespace Contracts.History;

/// <summary>What a day brings by itself: installments and the fees that follow from terms and dates.</summary>
public sealed partial class AccountFold
{
    /// <summary>
    /// The day's commands decide what falls due on it, so they are read before the first charge. The last choice of
    /// plan and the last move count; on the day of a return or a hold nothing falls due; on the day of a release it
    /// does; a purchase, a loss and an exchange leave the day's installment as it was.
    /// </summary>
    private bool LookAhead(LocalDate day, ReadOnlySpan<Recorded> facts)
    {
        var foreseen = new Foreseen(status, Runs, purchase?.Key);
        var told = DeliveryAmong(facts);
        foreach (var fact in facts)
        {
            switch (fact.Event)
            {
                case ContractEvent.PlanElected: planElected = true; break;
                case ContractEvent.PlanCancelled: planElected = false; break;
                case ContractEvent.Moved moved:
                    (state, jurisdiction) = (moved.State, moved.Jurisdiction);
                    GoUnder(PackOf(moved.State, moved.LawPack));
                    break;
                case ContractEvent.InstrumentDelivered delivered:
                    if (fact.Sequence == told && told > deliveredBy && foreseen.Status == ContractStatus.Signed && history.Signing.StartsAtDelivery)
                    {
                        TakeDelivery(delivered, fact.Sequence);
                        foreseen = foreseen with { Status = HasBegun(day) ? ContractStatus.Active : ContractStatus.Signed, Runs = true };
                    }

                    break;
                default:
                    if (!withoutEffect.Contains(fact.Sequence)) { foreseen = Foresee(foreseen, fact, day); }
                    break;
            }
        }

        return foreseen.Runs;
    }

    /// <summary>Where the day's commands read so far lead: the status, whether the day's installment is charged, and which purchase stands.</summary>
    private readonly record struct Foreseen(ContractStatus Status, bool Runs, string? Purchase);

    private Foreseen Foresee(Foreseen now, Recorded fact, LocalDate day)
    {
        switch (fact.Event)
        {
            case ContractEvent.Returned when MayReturn(now.Status): return Expect(fact, now with { Status = ContractStatus.Returned, Runs = false });
            case ContractEvent.SteppedUp when MayStepUp(now.Status): return Expect(fact, now with { Status = ContractStatus.SteppedUp, Runs = false });
            case ContractEvent.Held when MayHold(now.Status): return Expect(fact, now with { Status = ContractStatus.OnHold, Runs = false });
            case ContractEvent.BoughtEarly when MayBuy(now.Status): return now with { Status = ContractStatus.Owned, Purchase = fact.Key };
            case ContractEvent.LossReported when MayBuy(now.Status): return now with { Status = ContractStatus.Lost };
            case ContractEvent.Released when now.Status == ContractStatus.OnHold:
            case ContractEvent.Reinstated when now.Status == ContractStatus.Returned:
            case ContractEvent.PaymentReversed reversal when now.Status == ContractStatus.Owned && now.Purchase == reversal.Payment:
                // What was bought before it was delivered goes back to waiting for its delivery.
                if (AwaitsDelivery) { return now with { Status = ContractStatus.Signed, Purchase = null }; }
                schedule = schedule.ResumedOn(day);
                return now with { Status = ContractStatus.Active, Runs = true, Purchase = null };
            default: return now;
        }
    }

    private Foreseen Expect(Recorded fact, Foreseen then)
    {
        expected.Add(fact.Sequence);
        return then;
    }

    internal static bool MayReturn(ContractStatus now) =>
        now is ContractStatus.Signed or ContractStatus.Active or ContractStatus.OnHold or ContractStatus.Lost;

    internal static bool MayBuy(ContractStatus now) =>
        now is ContractStatus.Signed or ContractStatus.Active or ContractStatus.OnHold;

    internal static bool MayHold(ContractStatus now) => now == ContractStatus.Active;

    internal static bool MayStepUp(ContractStatus now) => now is ContractStatus.Active or ContractStatus.OnHold;

    internal static bool MayExchange(ContractStatus now) => now == ContractStatus.Active;

    internal static bool MaySwap(ContractStatus now) => MayBuy(now);

    private bool UndoesPurchase(string payment) =>
        status == ContractStatus.Owned && purchase is { } bought && bought.Key == payment;

    private void ChargeInstallment(LocalDate day)
    {
        var current = terms[^1];
        if (FirstRentAhead) { ChargeDeliveryTax(day, 0); }
        var entry = TaxOn(day);
        var parts = InstallmentParts.Next(schedule, current, planElected, entry);
        rentCovered += parts.Rent;
        var taxed = new TaxBase(entry.BearsOnRent ? parts.Rent : Money.Zero, entry.BearsOnPlan ? parts.Plan : Money.Zero, Money.Zero, delivery is not null);
        var charge = new Charge(null, ChargeKind.Installment, day, 0, terms.Count - 1) { Jurisdiction = jurisdiction, Base = taxed }
            .Of((ChargePart.Tax, parts.Tax), (ChargePart.Rent, parts.Rent), (ChargePart.Plan, parts.Plan));
        schedule = schedule.AfterNext();
        Add(charge, schedule.NextDue);
        if (current.LateFee.Amount.IsPositive) { lateWatch.Add((day.PlusDays(current.LateFee.GraceDays + 1), charge)); }
    }

    internal static string InstallmentId(LocalDate day) => Charge.IdOf(ChargeKind.Installment, day);

    private void ChargeLateFees(LocalDate day, bool runs)
    {
        // In the order of their installments: of two fees of one day the older debt is paid first.
        for (var index = 0; index < lateWatch.Count; index++)
        {
            if (lateWatch[index].EffectiveOn != day) { continue; }
            var installment = lateWatch[index].Installment;
            lateWatch.RemoveAt(index--);
            // Nothing has been applied yet today, so what is open now was open when grace ended.
            if (!runs || installment.IsPaid) { continue; }
            var amount = LateFeeOn(installment);
            if (waived.Count > 0 && waived.Contains(Charge.IdOf(ChargeKind.Late, installment.DueOn))) { continue; }
            ChargeFee(null, ChargeKind.Late, amount, day, 0, installment.DueOn);
        }
    }

    private void ChargeUnreturnedUnits(LocalDate day)
    {
        for (var index = unitsOut.Count - 1; index >= 0; index--)
        {
            if (unitsOut[index].EffectiveOn != day) { continue; }
            var (_, serial, fee) = unitsOut[index];
            unitsOut.RemoveAt(index);
            if (ChargeFee(fee.Id, ChargeKind.Unreturned, fee.Of(ChargePart.Fee), day, fee.Sequence) is { } charged)
            {
                unreturned.Add((serial, charged));
            }
        }
    }

    private readonly List<(string Serial, Charge Fee)> unreturned = [];

    private Charge? ChargeFee(
        string? id, ChargeKind kind, Money amount, LocalDate day, long sequence, LocalDate? namedFor = null)
    {
        if (!amount.IsPositive || (id is not null && waived.Contains(id))) { return null; }
        var entry = kind == ChargeKind.Loss ? TaxEntry.Untaxed : rates.On(jurisdiction, day);
        var charge = new Charge(id, kind, day, sequence, terms.Count - 1, namedFor) { Jurisdiction = jurisdiction, Base = OnOther(entry.BearsOnFee, amount) }
            .Of((ChargePart.Tax, entry.OnFee(amount)), (ChargePart.Fee, amount));
        Add(charge);
        return charge;
    }

    private void SellAccessories(
        IReadOnlyCollection<Instruments.Accessory> accessories, LocalDate day, string key, long sequence)
    {
        var price = Money.Zero;
        foreach (var accessory in accessories) { price += accessory.Price; }
        if (!price.IsPositive) { return; }
        var entry = rates.On(jurisdiction, day);
        Add(new Charge(AccessoriesId(key), ChargeKind.Accessories, day, sequence, terms.Count - 1)
            {
                Jurisdiction = jurisdiction, Base = OnOther(entry.BearsOnSale, price),
            }
            .Of((ChargePart.Tax, entry.OnSale(price)), (ChargePart.Price, price)));
    }

    private static TaxBase OnOther(bool isTaxed, Money amount, bool isCovered = false) =>
        new(Money.Zero, Money.Zero, isTaxed ? amount : Money.Zero, isCovered);

    private void Add(Charge charge, LocalDate? covers = null)
    {
        allocation.Add(charge);
        watcher?.Charged(charge, covers);
    }
}
