using System.Diagnostics;
using Contracts.Instruments;
using NodaTime;
using NodaTime.Text;

namespace Contracts.Host.Fleet;

/// <summary>What a unit's own stream says, in trade words.</summary>
internal static class UnitWords
{
    /// <summary>The fact in a few words.</summary>
    public static string Say(UnitEvent fact) => fact switch
    {
        UnitEvent.Acquired e => $"acquired: {e.Kind}, {e.Condition}{(e.Supplier is { } from ? $", from {from}" : "")}",
        UnitEvent.Inspected e => $"inspected by {e.Inspector}, list {e.Checklist}: {(e.Passed ? "passed" : "NOT passed")}{Found(e)}",
        UnitEvent.Graded e => $"graded {e.Grade}",
        UnitEvent.Placed e => $"taken by contract {e.Contract}",
        UnitEvent.Shipped e => $"shipped for contract {e.Contract} with {e.Carrier}, {e.Reference}",
        UnitEvent.Delivered => "delivered",
        UnitEvent.SentToRepair e => $"sent to repair: {e.Description}{(e.Estimate is { } cost ? $"; estimated at {cost}" : "")}",
        UnitEvent.Repaired => "repaired",
        UnitEvent.Retired => "retired from the fleet",
        UnitEvent.Sold => "sold out of the store",
        UnitEvent.Missing => "missing from the store",
        UnitEvent.Restored => "back in the store after all",
        _ => throw new UnreachableException($"No words for {fact.GetType().Name}."),
    };

    /// <summary>The amount a fact is about, as the shop sees it: what it pays is negative.</summary>
    public static Money? Effect(UnitEvent fact) => fact switch
    {
        UnitEvent.Acquired e => Money.Zero - e.Cost,
        UnitEvent.Repaired e => Money.Zero - e.Cost,
        UnitEvent.Sold e => e.Price,
        _ => null,
    };

    /// <summary>How a contract let go of it.</summary>
    public static string End(UnitUse use) => (use.End, use.BackOn) switch
    {
        (UseEnd.None, _) => "on-contract",
        (UseEnd.Swapped, null) => "due-back",
        (UseEnd.Swapped, _) => "swapped",
        (UseEnd.Returned, _) => "returned",
        (UseEnd.Owned, _) => "owned",
        (UseEnd.Lost, null) => "lost",
        (UseEnd.Lost, _) => "found",
        _ => throw new UnreachableException("No such end."),
    };

    /// <summary>A day in ISO, or nothing.</summary>
    public static string Iso(LocalDate? day) => day is { } one ? LocalDatePattern.Iso.Format(one) : "";

    private static string Found(UnitEvent.Inspected inspection)
    {
        var noted = inspection.Results.Where(one => one.Result is "fails" or "put-right").Select(one => $"{one.Item} {(one.Result == "fails" ? "fails" : "put right")}").ToList();
        return noted.Count == 0 ? "" : $" ({string.Join(", ", noted)})";
    }
}
