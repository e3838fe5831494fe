using System.Collections.Immutable;
using NodaTime;

namespace Contracts.Instruments;

/// <summary>
/// A fact about one unit of the fleet, kept in a stream of its own (docs/instruments.md). Every name and field here is stored for
/// ever: add, never rename or remove. Who, why and when it was recorded are the store's to keep, as for contracts.
/// </summary>
/// <remarks>Where a unit was on contracts is told by the contracts' own facts and never twice; <see cref="Placed"/> only says which ones.</remarks>
public abstract record UnitEvent
{
    private UnitEvent() { }

    /// <summary>The day the fact is about, in the shop's calendar.</summary>
    public required LocalDate On { get; init; }

    /// <summary>The unit came into the fleet: from here on the shop keeps it, and it needs a passed inspection before it goes out.</summary>
    /// <param name="Kind">The trade's name for it, such as clarinet.</param>
    /// <param name="Condition">new or used.</param>
    /// <param name="Cost">What the shop paid for it.</param>
    /// <param name="Supplier">From whom, where somebody said so.</param>
    public sealed record Acquired(string Kind, string Condition, Money Cost, string? Supplier) : UnitEvent;

    /// <summary>It was looked over, item by item of a checklist.</summary>
    /// <param name="Checklist">The checklist's name with its version, such as <c>band-and-orchestra.1</c>.</param>
    /// <param name="Results">What was found for each item, all of them.</param>
    /// <param name="Inspector">Who looked.</param>
    /// <param name="Passed">Whether it may go out.</param>
    public sealed record Inspected(string Checklist, ImmutableArray<InspectedItem> Results, string Inspector, bool Passed) : UnitEvent;

    /// <summary>It was given a grade, which moves no figure.</summary>
    public sealed record Graded(string Grade) : UnitEvent;

    /// <summary>A contract took it: recorded with the command on the contract that did it, in one transaction.</summary>
    public sealed record Placed(string Contract) : UnitEvent;

    /// <summary>It was handed to a carrier for the family of a contract.</summary>
    public sealed record Shipped(string Contract, string Carrier, string Reference) : UnitEvent;

    /// <summary>The carrier handed it over.</summary>
    public sealed record Delivered : UnitEvent;

    /// <summary>It went to the bench or to an outside repairer.</summary>
    /// <param name="Description">What is wrong with it.</param>
    /// <param name="Estimate">What the repair is expected to cost the shop, where known.</param>
    public sealed record SentToRepair(string Description, Money? Estimate) : UnitEvent;

    /// <summary>It came back repaired, for this much.</summary>
    public sealed record Repaired(Money Cost) : UnitEvent;

    /// <summary>It leaves the fleet for good without a sale: scrapped, given away, kept for parts.</summary>
    public sealed record Retired : UnitEvent;

    /// <summary>It was sold out of the store, to nobody's contract.</summary>
    public sealed record Sold(Money Price) : UnitEvent;

    /// <summary>It is missing from the store. What a family loses is reported on its contract.</summary>
    public sealed record Missing : UnitEvent;

    /// <summary>It is in the store after all: retired, sold or missed by mistake, or found.</summary>
    public sealed record Restored : UnitEvent;

    /// <summary>Whether the fact moves the unit: no such fact is slipped in before another.</summary>
    internal bool Orders => this is Shipped or Delivered or SentToRepair or Repaired or Retired or Sold or Missing or Restored;
}

/// <summary>What was found for one item of a checklist.</summary>
/// <param name="Item">The item's name in the checklist.</param>
/// <param name="Result">good, put-right (found wrong and put right on the bench), fails, or not-applicable.</param>
/// <param name="Note">What else there is to say.</param>
public sealed record InspectedItem(string Item, string Result, string? Note = null)
{
    /// <summary>What may be found, in the words that are stored.</summary>
    public static IReadOnlyList<string> Results { get; } = ["good", "put-right", "fails", "not-applicable"];

    /// <summary>The one result with which no unit goes out.</summary>
    public const string Fails = "fails";
}
