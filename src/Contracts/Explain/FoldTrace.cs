using System.Collections.Immutable;
using Contracts.Agreements;
using Contracts.History;
using Contracts.Instruments;
using Contracts.Payments;
using NodaTime;

namespace Contracts.Explain;

/// <summary>
/// Keeps what the finished fold no longer shows and a tree needs: the money as it lay at each exchange, and which refund
/// gave back what of which payment. It looks and changes nothing.
/// </summary>
internal sealed class FoldTrace : IAccountWatcher
{
    private readonly Dictionary<string, List<(Recorded Refund, Money Amount)>> refunds = new(StringComparer.Ordinal);
    private readonly List<TermsPicture> terms = [];
    private readonly List<Recorded> effective = [];

    /// <summary>Every set of terms the contract has had, the one in force last.</summary>
    public IReadOnlyList<TermsPicture> Terms => terms;

    /// <summary>The facts that had an effect, in the order in which they had it.</summary>
    public IReadOnlyList<Recorded> Effective => effective;

    public void Happened(Recorded fact, bool took, AccountFold fold)
    {
        if (!took) { return; }
        effective.Add(fact);
        switch (fact.Event)
        {
            case ContractEvent.Signed signed: terms.Add(new TermsPicture(fact, signed.Terms, signed.Terms.TotalRent, null, Money.Zero)); break;
            // Nothing has been applied since the exchange counted: the rents paid are still those it counted.
            case ContractEvent.InstrumentExchanged exchange:
                terms.Add(new TermsPicture(fact, exchange.Terms, fold.Schedule.RentLeft, Picture(fold), fold.NotCounted));
                break;
            case ContractEvent.RefundIssued: Note(fact, fold.Allocation.Lots); break;
            default: break;
        }
    }

    /// <summary>The money as it lies now.</summary>
    public MoneyPicture Picture(AccountFold fold)
    {
        var facts = fold.Known.Facts.Where(fact => fact.Event is ContractEvent.PaymentReceived or ContractEvent.BoughtEarly or ContractEvent.CreditGiven)
            .ToDictionary(fact => fact.Key, StringComparer.Ordinal);
        return new MoneyPicture(
            [.. fold.Allocation.Lots.Where(lot => !lot.IsReversed).Select(lot => new LotPicture(
                facts[lot.Source], lot.IsGoodwill, ReceivedBy(facts[lot.Source]), lot.Waiting, [.. lot.Paid], [.. refunds.GetValueOrDefault(lot.Source, [])]))],
            [.. fold.Allocation.Open.Select(item => (item, item.Open))]);
    }

    public void BeginDay(LocalDate day) { }

    public void Names(Instrument named) { }

    public void Charged(Charge charge, LocalDate? covers) { }

    public void ChargeReversed(Charge charge) { }

    public void SpareUnitFound(Charge fee) { }

    public void NotCarried(Money amount) { }

    public void EndDay(AccountFold fold) { }

    public void Settled(ChargeItem item, Money amount, bool goodwill) { }

    private void Note(Recorded refund, IReadOnlyList<Lot> lots)
    {
        foreach (var lot in lots)
        {
            var known = refunds.GetValueOrDefault(lot.Source, []);
            var before = known.Aggregate(Money.Zero, (sum, one) => sum + one.Amount);
            if (lot.Refunded == before) { continue; }
            known.Add((refund, lot.Refunded - before));
            refunds[lot.Source] = known;
        }
    }

    private static Money ReceivedBy(Recorded fact) => fact.Event switch
    {
        ContractEvent.PaymentReceived e => e.Amount,
        ContractEvent.BoughtEarly e => e.Amount,
        ContractEvent.CreditGiven e => e.Amount,
        _ => throw new System.Diagnostics.UnreachableException($"{fact.Event.GetType().Name} brings no money."),
    };
}
