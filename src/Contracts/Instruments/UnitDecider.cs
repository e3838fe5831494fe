using System.Collections.Immutable;
using System.Diagnostics;
using Contracts.Agreements;
using NodaTime;
using NodaTime.Text;

namespace Contracts.Instruments;

/// <summary>
/// Decides commands on one unit of the fleet, and whether a contract may take it. Pure: the same facts always give the same answer
/// (docs/instruments.md has the rules by number).
/// </summary>
public static class UnitDecider
{
    /// <summary>The event that a command brings, or why not; exactly one of the two.</summary>
    /// <param name="history">What is known of the unit.</param>
    /// <param name="uses">The contracts' uses of it, as known now and as far as they are recorded.</param>
    /// <param name="context">The recording date.</param>
    /// <param name="origin">Who asks and why.</param>
    /// <param name="on">The day the command is about.</param>
    /// <param name="command">The command.</param>
    public static (UnitEvent? Event, Refusal? Refusal) Decide(
        UnitHistory history, IReadOnlyList<UnitUse> uses, DecisionContext context, CommandOrigin origin, LocalDate on, UnitCommand command)
    {
        if (on > context.RecordingDate.PlusDays(ContractDecider.FurthestAheadDays)) { return (null, ContractDecider.TooFarAhead(on, context)); }
        if (command is UnitCommand.Retire or UnitCommand.ReportMissing or UnitCommand.Restore && string.IsNullOrWhiteSpace(origin.Reason))
        {
            return (null, new Refusal(RefusalCode.ReasonMissing, "This command must say why.", "reason"));
        }

        if (command is UnitCommand.Acquire acquire) { return Acquire(history, on, acquire); }
        if (NotKept(history, on) is { } unknown) { return (null, unknown); }
        var now = UnitState.At(history, uses, on);
        if (command is UnitCommand.Inspect or UnitCommand.Grade)
        {
            // What is found or said of a unit moves it nowhere and may be told late.
            if (command is UnitCommand.Inspect && on > context.RecordingDate)
            {
                return (null, new Refusal(
                    RefusalCode.OnTooFarAhead, $"An inspection is of a day that has come: it is {Iso(context.RecordingDate)}.", "on", Iso(context.RecordingDate)));
            }

            return Left(now) ? Forbidden(now, on, "looked over") : Looked(on, command);
        }

        return LaterEvent(history, uses, on) is { } later ? (null, later) : Move(now, on, command);
    }

    /// <summary>
    /// Why a contract cannot take a unit on a day, or null. A unit that was never acquired is taken as the contract says: only what the
    /// shop keeps as a unit is held to its inspections.
    /// </summary>
    /// <param name="history">What is known of the unit.</param>
    /// <param name="uses">The contracts' uses of it, without the one that is asked for.</param>
    /// <param name="on">The day it is to go out.</param>
    /// <param name="kind">What the contract calls it.</param>
    public static Refusal? PlacementFault(UnitHistory history, IReadOnlyList<UnitUse> uses, LocalDate on, string kind)
    {
        if (history.Acquisition is not { } acquired) { return null; }
        if ((NotKept(history, on) ?? LaterEvent(history, uses, on)) is { } refusal) { return refusal; }
        if (!string.Equals(acquired.Kind, kind, StringComparison.OrdinalIgnoreCase))
        {
            return new Refusal(RefusalCode.UnitKindDiffers, $"The unit '{history.Serial}' is a {acquired.Kind}.", "kind", acquired.Kind);
        }

        var now = UnitState.At(history, uses, on);
        // A taking that is dated back does not go round what was found since.
        if (now.Status == UnitStatus.Ready && history.Facts.LastOrDefault(fact => fact.Event is UnitEvent.Inspected) is { Event: UnitEvent.Inspected { Passed: false } since })
        {
            return new Refusal(RefusalCode.UnitNotInspected, $"The unit '{history.Serial}' did not pass its inspection on {Iso(since.On)}.", "serial", Iso(since.On));
        }

        return now.Status switch
        {
            UnitStatus.Ready => null,
            UnitStatus.ToInspect => NotInspected(now),
            UnitStatus.OnContract => new Refusal(
                RefusalCode.InstrumentOnOpenContract, $"The instrument '{history.Serial}' is on the open contract {now.LastUse!.Contract}.", "serial"),
            _ => Forbidden(now, on, "placed on a contract").Refusal,
        };
    }

    private static (UnitEvent?, Refusal?) Acquire(UnitHistory history, LocalDate on, UnitCommand.Acquire c)
    {
        if (history.Acquisition is { } earlier)
        {
            return (null, new Refusal(RefusalCode.UnitAlreadyAcquired, $"The unit '{history.Serial}' was acquired on {Iso(earlier.On)} already.", "serial", Iso(earlier.On)));
        }

        return (new UnitEvent.Acquired(c.Kind, c.Condition, c.Cost, c.Supplier) { On = on }, null);
    }

    private static (UnitEvent?, Refusal?) Looked(LocalDate on, UnitCommand command) => command switch
    {
        UnitCommand.Inspect c when InspectionFault(c) is { } fault => (null, fault),
        UnitCommand.Inspect c => (new UnitEvent.Inspected(c.Checklist, c.Results, c.Inspector, c.Passed) { On = on }, null),
        UnitCommand.Grade c => (new UnitEvent.Graded(c.Word) { On = on }, null),
        _ => throw new UnreachableException($"{command.GetType().Name} is no look at a unit."),
    };

    private static (UnitEvent?, Refusal?) Move(UnitState now, LocalDate on, UnitCommand command) => command switch
    {
        UnitCommand.Ship c => Ship(now, on, c),
        UnitCommand.Deliver when now is { Status: UnitStatus.OnContract, Shipment: not null, DeliveredOn: null } => (new UnitEvent.Delivered { On = on }, null),
        UnitCommand.Deliver => Forbidden(now, on, "delivered", "No shipment to a family is under way."),
        UnitCommand.SendToRepair c when !Left(now) && now.Status != UnitStatus.DueBack && !now.IsInRepair =>
            (new UnitEvent.SentToRepair(c.Description, c.Estimate) { On = on }, null),
        UnitCommand.SendToRepair => Forbidden(now, on, "sent to repair"),
        UnitCommand.FinishRepair c when now.IsInRepair => (new UnitEvent.Repaired(c.Cost) { On = on }, null),
        UnitCommand.FinishRepair => Forbidden(now, on, "taken back from a repair", "It is at no repair."),
        UnitCommand.Retire when InStore(now) || now.Status == UnitStatus.InRepair => (new UnitEvent.Retired { On = on }, null),
        UnitCommand.Retire => Forbidden(now, on, "retired"),
        UnitCommand.Sell c when InStore(now) => Sell(on, c),
        UnitCommand.Sell => Forbidden(now, on, "sold out of the store"),
        UnitCommand.ReportMissing when InStore(now) || now.Status == UnitStatus.InRepair => (new UnitEvent.Missing { On = on }, null),
        UnitCommand.ReportMissing => Forbidden(now, on, "missing from the store"),
        UnitCommand.Restore when now.Status is UnitStatus.Retired or UnitStatus.Sold or UnitStatus.Lost && now.LeftOn is not null && IsOwn(now) =>
            (new UnitEvent.Restored { On = on }, null),
        UnitCommand.Restore => Forbidden(now, on, "taken back into the store"),
        _ => throw new UnreachableException($"No rule for {command.GetType().Name}."),
    };

    private static (UnitEvent?, Refusal?) Ship(UnitState now, LocalDate on, UnitCommand.Ship c)
    {
        if (now.Status != UnitStatus.OnContract || now.IsInRepair) { return Forbidden(now, on, "shipped"); }
        if (now.LastUse!.Contract != c.Contract)
        {
            return (null, new Refusal(
                RefusalCode.UnitStatusForbids,
                $"On {Iso(on)} the unit '{now.Serial}' is on contract {now.LastUse.Contract}, not on {c.Contract}.", "contract", now.LastUse.Contract));
        }

        if (now is { Shipment: { } shipped, DeliveredOn: null }) { return Forbidden(now, on, "shipped", $"It is under way with {shipped.Carrier} since {Iso(shipped.On)}."); }
        // A unit that was on the contract when it was acquired has no inspection behind it; a failed one stops any other.
        return now.IsInspected || (now.LastInspection is null && now.InStoreSince is null)
            ? (new UnitEvent.Shipped(c.Contract, c.Carrier, c.Reference) { On = on }, null)
            : (null, NotInspected(now));
    }

    private static (UnitEvent?, Refusal?) Sell(LocalDate on, UnitCommand.Sell c) => c.Price.IsPositive
        ? (new UnitEvent.Sold(c.Price) { On = on }, null)
        : (null, new Refusal(RefusalCode.AmountNotPositive, "The amount must be above zero.", "price"));

    /// <summary>Every item of a known list is answered once, and nothing that fails is passed.</summary>
    private static Refusal? InspectionFault(UnitCommand.Inspect c)
    {
        if (Checklist.Find(c.Checklist) is not { } list)
        {
            var known = string.Join(", ", Checklist.All.Select(one => one.Name));
            return new Refusal(RefusalCode.ChecklistUnknown, $"There is no checklist '{c.Checklist}'; there is {known}.", "checklist", known);
        }

        var names = list.Items.Select(item => item.Item).ToHashSet(StringComparer.Ordinal);
        var answered = new HashSet<string>(StringComparer.Ordinal);
        foreach (var result in c.Results)
        {
            if (!names.Contains(result.Item)) { return Incomplete($"'{result.Item}' is no item of {list.Name}.", "results.item"); }
            if (!answered.Add(result.Item)) { return Incomplete($"'{result.Item}' is answered twice.", "results.item"); }
        }

        if (list.Items.FirstOrDefault(item => !answered.Contains(item.Item)) is { } missing)
        {
            return new Refusal(
                RefusalCode.InspectionIncomplete,
                $"{list.Items.Length - answered.Count} of {list.Items.Length} items are not answered, the first is '{missing.Item}'.", "results", missing.Item);
        }

        return c.Passed && c.Results.FirstOrDefault(result => result.Result == InspectedItem.Fails) is { } fails
            ? Incomplete($"'{fails.Item}' fails: the inspection cannot be passed.", "passed")
            : null;
    }

    private static Refusal Incomplete(string detail, string field) => new(RefusalCode.InspectionIncomplete, detail, field);

    private static Refusal? NotKept(UnitHistory history, LocalDate on)
    {
        if (history.Acquisition is not { } acquired)
        {
            return new Refusal(RefusalCode.UnitUnknown, $"No unit '{history.Serial}' was acquired; `acquire-unit` takes one into the fleet.", "serial");
        }

        return on >= acquired.On ? null : new Refusal(
            RefusalCode.UnitStatusForbids, $"The unit '{history.Serial}' was acquired on {Iso(acquired.On)}, after {Iso(on)}.", "on", Iso(acquired.On));
    }

    /// <summary>What moves a unit is undone by new facts in order, never slipped in before.</summary>
    private static Refusal? LaterEvent(UnitHistory history, IReadOnlyList<UnitUse> uses, LocalDate on)
    {
        var last = LocalDate.MinIsoValue;
        foreach (var fact in history.Facts)
        {
            if (fact.Event.Orders) { last = LocalDate.Max(last, fact.Event.On); }
        }

        foreach (var use in uses) { last = LocalDate.Max(last, LocalDate.Max(use.From, LocalDate.Max(use.Until ?? use.From, use.BackOn ?? use.From))); }
        return last <= on ? null : new Refusal(
            RefusalCode.UnitLaterEvent, $"Something that moves the unit '{history.Serial}' is already recorded on {Iso(last)}.", "on", Iso(last));
    }

    private static bool InStore(UnitState now) => now is { Status: UnitStatus.ToInspect or UnitStatus.Ready };

    private static bool Left(UnitState now) => now.Status is UnitStatus.Owned or UnitStatus.Sold or UnitStatus.Lost or UnitStatus.Retired;

    /// <summary>Whether it left by a fact of its own: what a contract ended is that contract's to undo.</summary>
    private static bool IsOwn(UnitState now) => now.LastUse is not { End: UseEnd.Lost, BackOn: null };

    private static Refusal NotInspected(UnitState now) => new(
        RefusalCode.UnitNotInspected,
        now.LastInspection is { Passed: false } failed
            ? $"The unit '{now.Serial}' did not pass its inspection on {Iso(failed.On)}."
            : $"The unit '{now.Serial}' has no passed inspection since it came into the store on {Iso(now.InStoreSince!.Value)}.",
        "serial", now.InStoreSince is { } since ? Iso(since) : null);

    private static (UnitEvent? Event, Refusal? Refusal) Forbidden(UnitState now, LocalDate on, string done, string? because = null) => (null, new Refusal(
        RefusalCode.UnitStatusForbids,
        $"The unit '{now.Serial}', {now.Status.Word()} on {Iso(on)}, cannot be {done}.{(because is null ? "" : $" {because}")}", "serial", now.Status.Word()));

    private static string Iso(LocalDate date) => LocalDatePattern.Iso.Format(date);
}
