using Contracts.Agreements;
using Contracts.History;
using Contracts.Instruments;
using Contracts.Payments;
using Contracts.Terms;
using NodaTime;

namespace Contracts.Fleet;

/// <summary>
/// Writes down which units a contract had, from when to when, and what was paid for each, while its fold lives through the days. It
/// looks and changes nothing.
/// </summary>
internal sealed class UnitTrace : IAccountWatcher
{
    private readonly List<UnitUse> uses = [];
    private readonly HashSet<string> handedIn = new(StringComparer.Ordinal);
    private readonly Dictionary<Charge, int> payers = new(ReferenceEqualityComparer.Instance);
    private readonly List<Charge> waiting = [];
    private string contract = "";
    private LocalDate today;
    private Instrument? named;

    private UnitTrace() { }

    /// <summary>The units a contract had by the end of a day, in the order in which it took them.</summary>
    /// <param name="history">What is known of the contract.</param>
    /// <param name="rates">What is known of taxes and laws.</param>
    /// <param name="on">The day.</param>
    public static IReadOnlyList<UnitUse> Of(ContractHistory history, ReferenceData rates, LocalDate on)
    {
        // A fold that is made again gets a fresh watcher: the last one saw what counts.
        UnitTrace? trace = null;
        var state = AccountFold.At(history, rates, on, () => trace = new UnitTrace { contract = history.Contract });
        return state is null || trace is null ? [] : trace.uses;
    }

    public void BeginDay(LocalDate day) => today = day;

    public void Names(Instrument unit)
    {
        named = unit;
        // The first unit is out before its first installment; what comes later follows its fact.
        if (uses.Count == 0) { Open(unit.Serial, 0, ""); }
    }

    public void Charged(Charge charge, LocalDate? covers)
    {
        if (charge.Kind == ChargeKind.Unreturned) { return; }
        if (uses[^1].End is UseEnd.None || charge.Kind != ChargeKind.Installment) { payers[charge] = uses.Count - 1; }
        else { waiting.Add(charge); }
    }

    public void Settled(ChargeItem item, Money amount, bool goodwill)
    {
        if (goodwill) { return; }
        var index = item.Charge.Kind == ChargeKind.Unreturned ? SwappedBy(item.Charge.Id) : payers.GetValueOrDefault(item.Charge, uses.Count - 1);
        if (index < 0) { return; }
        var use = uses[index];
        uses[index] = (item.Charge.Kind, item.Part) switch
        {
            (ChargeKind.Installment, ChargePart.Rent) => use with { Rent = use.Rent + amount },
            (ChargeKind.Purchase, ChargePart.Price) or (ChargeKind.Loss, ChargePart.Fee) => use with { Sale = use.Sale + amount },
            (ChargeKind.Unreturned, ChargePart.Fee) => use with { NotReturned = use.NotReturned + amount },
            _ => use,
        };
    }

    public void Happened(Recorded fact, bool took, AccountFold fold)
    {
        if (!took) { return; }
        switch (fact.Event)
        {
            case ContractEvent.Signed: uses[0] = uses[0] with { FromSequence = fact.Sequence, Key = fact.Key }; break;
            case ContractEvent.InstrumentSwapped e: Swap(e, fact); break;
            case ContractEvent.UnitReceived e: HandIn(e.Serial, fact); break;
            case ContractEvent.InstrumentExchanged e: TakeBack(fact, UseEnd.Returned); Open(e.Instrument.Serial, fact.Sequence, fact.Key); break;
            case ContractEvent.Returned or ContractEvent.SteppedUp: TakeBack(fact, UseEnd.Returned); break;
            case ContractEvent.Reinstated: Open(fold.Serial, fact.Sequence, fact.Key); break;
            case ContractEvent.BoughtEarly: LetGo(fact.Sequence, UseEnd.Owned); break;
            case ContractEvent.LossReported: LetGo(fact.Sequence, UseEnd.Lost); break;
            // The purchase is undone: the contract runs as if the unit had never been the family's.
            case ContractEvent.PaymentReversed when uses[^1].End == UseEnd.Owned && fold.Status != ContractStatus.Owned:
                uses[^1] = uses[^1] with { End = UseEnd.None, Until = null, UntilSequence = long.MaxValue };
                break;
            default: break; // Moves no unit.
        }
    }

    public void EndDay(AccountFold fold)
    {
        foreach (var charge in waiting) { payers[charge] = uses.Count - 1; }
        waiting.Clear();
        if (fold.Status == ContractStatus.Owned && uses[^1].End == UseEnd.None) { LetGo(long.MaxValue, UseEnd.Owned); }
    }

    public void ChargeReversed(Charge charge) { }

    public void SpareUnitFound(Charge fee) { }

    public void NotCarried(Money amount) { }

    private void Open(string serial, long sequence, string key)
    {
        handedIn.Remove(serial);
        // A swap's unit stands for the one it replaced; what it cost, its own contract does not say.
        var cost = named?.Serial == serial ? named.Cost : null;
        uses.Add(new UnitUse(serial, named?.Kind ?? "", contract, today, sequence, key) { Cost = cost });
        foreach (var charge in waiting) { payers[charge] = uses.Count - 1; }
        waiting.Clear();
    }

    private void Swap(ContractEvent.InstrumentSwapped swap, Recorded fact)
    {
        LetGo(fact.Sequence, UseEnd.Swapped);
        // A unit handed in before its replacement was recorded is back already.
        if (handedIn.Contains(swap.Outgoing)) { uses[^1] = uses[^1] with { BackOn = today, BackSequence = fact.Sequence }; }
        Open(swap.Serial, fact.Sequence, fact.Key);
    }

    private void HandIn(string serial, Recorded fact)
    {
        handedIn.Add(serial);
        for (var index = uses.Count - 1; index >= 0; index--)
        {
            var use = uses[index];
            if (use.Serial != serial) { continue; }
            if (use is { BackOn: null, End: UseEnd.Swapped or UseEnd.Lost }) { uses[index] = use with { BackOn = today, BackSequence = fact.Sequence }; }
            return;
        }
    }

    private void TakeBack(Recorded fact, UseEnd how)
    {
        if (uses[^1].End == UseEnd.None) { LetGo(fact.Sequence, how); }
        if (uses[^1].BackOn is null) { uses[^1] = uses[^1] with { BackOn = today, BackSequence = fact.Sequence }; }
    }

    private void LetGo(long sequence, UseEnd how) => uses[^1] = uses[^1] with { End = how, Until = today, UntilSequence = sequence };

    /// <summary>The use that a swap ended, by the id of its fee.</summary>
    private int SwappedBy(string fee)
    {
        var key = fee[(fee.IndexOf(':', StringComparison.Ordinal) + 1)..];
        return uses.FindIndex(use => use.Key == key) - 1;
    }
}
