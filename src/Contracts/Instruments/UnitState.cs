using NodaTime;

namespace Contracts.Instruments;

/// <summary>Where a unit is.</summary>
public enum UnitStatus
{
    /// <summary>Not in the fleet yet on this day.</summary>
    NotYet,

    /// <summary>In the store, without a passed inspection since it came.</summary>
    ToInspect,

    /// <summary>In the store and fit to go out.</summary>
    Ready,

    /// <summary>On a contract.</summary>
    OnContract,

    /// <summary>Swapped for another; the family still has it.</summary>
    DueBack,

    /// <summary>At the bench or an outside repairer, off every contract.</summary>
    InRepair,

    /// <summary>A family owns it.</summary>
    Owned,

    /// <summary>Sold out of the store.</summary>
    Sold,

    /// <summary>Reported lost by the family, or missing from the store.</summary>
    Lost,

    /// <summary>Out of the fleet without a sale.</summary>
    Retired,
}

/// <summary>
/// One unit at the end of a day: its own facts and the contracts' uses of it, played in the one order of recording within each day.
/// Pure, and the same for a decision and for an answer.
/// </summary>
public sealed class UnitState
{
    private bool passed;
    private bool dueBack;
    private UnitStatus? gone;

    private UnitState(string serial) => Serial = serial;

    /// <summary>The serial number.</summary>
    public string Serial { get; }

    /// <summary>The trade's name for it; empty while nothing says so.</summary>
    public string Kind { get; private set; } = "";

    /// <summary>Whether the shop keeps it as a unit: it was acquired by this day.</summary>
    public bool IsKept { get; private set; }

    /// <summary>The day it came into the store last: acquired, back from a contract or a repair, restored; null where nothing says so.</summary>
    public LocalDate? InStoreSince { get; private set; }

    /// <summary>The use that has it, or had it last.</summary>
    public UnitUse? LastUse { get; private set; }

    /// <summary>Whether the last use goes on, or its family has the unit still.</summary>
    public bool IsWithFamily { get; private set; }

    /// <summary>What it cost, as its acquisition says, else as the last contract that said so.</summary>
    public Money? Cost { get; private set; }

    /// <summary>What repairs have cost.</summary>
    public Money RepairCost { get; private set; }

    /// <summary>For what it was sold out of the store.</summary>
    public Money SoldFor { get; private set; }

    /// <summary>Its grade, or null.</summary>
    public string? Grade { get; private set; }

    /// <summary>Whether it is at the bench or a repairer; a unit on a contract can be.</summary>
    public bool IsInRepair { get; private set; }

    /// <summary>The shipment to the family under way or done, since the contract took it; null where it was handed over.</summary>
    public UnitEvent.Shipped? Shipment { get; private set; }

    /// <summary>The day that shipment was delivered, or null.</summary>
    public LocalDate? DeliveredOn { get; private set; }

    /// <summary>The last inspection, or null.</summary>
    public UnitEvent.Inspected? LastInspection { get; private set; }

    /// <summary>The days on which it was no part of the fleet any more begin here; null while it is.</summary>
    public LocalDate? LeftOn { get; private set; }

    /// <summary>Whether its last inspection since it came into the store was passed.</summary>
    public bool IsInspected => passed;

    /// <summary>Where it is.</summary>
    public UnitStatus Status => gone ?? (IsWithFamily, dueBack, IsInRepair) switch
    {
        (true, true, _) => UnitStatus.DueBack,
        (true, _, _) => UnitStatus.OnContract,
        (_, _, true) => UnitStatus.InRepair,
        _ when InStoreSince is null => UnitStatus.NotYet,
        _ => passed ? UnitStatus.Ready : UnitStatus.ToInspect,
    };

    /// <summary>The word for where it is; of a unit that nobody keeps, nobody knows whether it was looked over.</summary>
    public string StatusWord => !IsKept && Status is (UnitStatus.ToInspect or UnitStatus.Ready) ? "in-store" : Status.Word();

    /// <summary>The unit at the end of a day.</summary>
    /// <param name="history">What is known of it from its own stream.</param>
    /// <param name="uses">The contracts' uses of it in the same view.</param>
    /// <param name="on">The day.</param>
    public static UnitState At(UnitHistory history, IEnumerable<UnitUse> uses, LocalDate on)
    {
        var state = new UnitState(history.Serial);
        var steps = new List<(LocalDate On, long Sequence, int Order, Action Do)>();
        foreach (var fact in history.Facts) { steps.Add((fact.Event.On, fact.Sequence, 0, () => state.Apply(fact.Event))); }
        foreach (var use in uses)
        {
            steps.Add((use.From, use.FromSequence, 1, () => state.Begin(use)));
            if (use.Until is { } until) { steps.Add((until, use.UntilSequence, 2, () => state.LetGo(use))); }
            if (use.BackOn is { } back) { steps.Add((back, use.BackSequence, 3, () => state.TakeBack(use, back))); }
        }

        // One event can let one unit go and take it back; an exchange lets one go before it takes the other, which is another unit.
        foreach (var step in steps.Where(step => step.On <= on).OrderBy(step => step.On).ThenBy(step => step.Sequence).ThenBy(step => step.Order)) { step.Do(); }
        return state;
    }

    private void Apply(UnitEvent fact)
    {
        switch (fact)
        {
            case UnitEvent.Acquired e: Acquire(e); break;
            case UnitEvent.Inspected e: (LastInspection, passed) = (e, e.Passed); break;
            case UnitEvent.Graded e: Grade = e.Grade; break;
            case UnitEvent.Placed: break; // The contract itself says when it had the unit.
            case UnitEvent.Shipped e: (Shipment, DeliveredOn) = (e, null); break;
            case UnitEvent.Delivered e: DeliveredOn = e.On; break;
            case UnitEvent.SentToRepair: IsInRepair = true; break;
            case UnitEvent.Repaired e: Repair(e); break;
            case UnitEvent.Retired e: Leave(UnitStatus.Retired, e.On); break;
            case UnitEvent.Sold e: SoldFor = e.Price; Leave(UnitStatus.Sold, e.On); break;
            case UnitEvent.Missing e: Leave(UnitStatus.Lost, e.On); break;
            case UnitEvent.Restored e: SoldFor = Money.Zero; ComeIn(e.On); break;
            default: throw new System.Diagnostics.UnreachableException($"No effect is written for {fact.GetType().Name}.");
        }
    }

    private void Acquire(UnitEvent.Acquired fact)
    {
        (IsKept, Kind, Cost) = (true, fact.Kind, fact.Cost);
        // What a family has already is acquired where it is.
        if (!IsWithFamily && gone is null) { ComeIn(fact.On); }
    }

    private void Repair(UnitEvent.Repaired fact)
    {
        IsInRepair = false;
        RepairCost += fact.Cost;
        // It was opened: what was found before says nothing about it now.
        if (!IsWithFamily) { ComeIn(fact.On); }
    }

    private void Begin(UnitUse use)
    {
        LastUse = use;
        (IsWithFamily, dueBack, gone, Shipment, DeliveredOn, LeftOn) = (true, false, null, null, null, null);
        if (!IsKept) { (Kind, Cost) = (use.Kind, use.Cost ?? Cost); }
    }

    private void LetGo(UnitUse use)
    {
        if (LastUse != use) { return; }
        switch (use.End)
        {
            case UseEnd.Swapped: dueBack = true; break;
            case UseEnd.Owned: Leave(UnitStatus.Owned, use.Until!.Value); break;
            case UseEnd.Lost: Leave(UnitStatus.Lost, use.Until!.Value); break;
            default: break; // It is back the same day, which is the next step.
        }
    }

    private void TakeBack(UnitUse use, LocalDate day)
    {
        // Later knowledge can leave a contract with a unit that went on to another: what came back is then no longer what was looked over.
        if (LastUse == use || (!IsWithFamily && gone is null)) { ComeIn(day); }
        else { passed = false; }
    }

    private void ComeIn(LocalDate day) => (InStoreSince, passed, IsWithFamily, dueBack, gone, LeftOn) = (day, false, false, false, null, null);

    private void Leave(UnitStatus how, LocalDate day) => (gone, LeftOn, IsWithFamily, IsInRepair) = (how, day, false, false);
}

/// <summary>The words of where a unit is.</summary>
public static class UnitStatusWords
{
    /// <summary>The word that is printed.</summary>
    /// <param name="status">Where it is.</param>
    public static string Word(this UnitStatus status) => status switch
    {
        UnitStatus.NotYet => "not-yet",
        UnitStatus.ToInspect => "to-inspect",
        UnitStatus.Ready => "ready",
        UnitStatus.OnContract => "on-contract",
        UnitStatus.DueBack => "due-back",
        UnitStatus.InRepair => "in-repair",
        UnitStatus.Owned => "owned",
        UnitStatus.Sold => "sold",
        UnitStatus.Lost => "lost",
        UnitStatus.Retired => "retired",
        _ => throw new System.Diagnostics.UnreachableException("No such status."),
    };
}
