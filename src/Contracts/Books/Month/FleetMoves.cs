using Contracts.Books.Depreciation;

namespace Contracts.Books.Month;

/// <summary>
/// The moves of every unit over all contracts it was on. They come contract by contract and are read day by day: a unit
/// found on one contract may have been sold on another since.
/// </summary>
internal sealed class FleetMoves
{
    private readonly SortedDictionary<string, List<Move>> moves = new(StringComparer.Ordinal);

    /// <summary>A move, and whether its contract had handed the unit in when the day was over.</summary>
    private readonly record struct Move(UnitMove Of, bool HandedIn);

    /// <summary>Units for which nobody ever named a cost.</summary>
    public long WithoutCost => moves.Values.Count(unit => unit.All(move => move.Of.Cost is null));

    /// <summary>Adds what the units of one contract did, in the order in which they did it.</summary>
    public void Add(IReadOnlyList<UnitMove> contract)
    {
        foreach (var move in contract)
        {
            if (!moves.TryGetValue(move.Serial, out var unit)) { moves[move.Serial] = unit = []; }
            var end = contract.Last(other => other.Serial == move.Serial && other.On == move.On);
            unit.Add(new Move(move, end.Movement == Movement.BackInStore));
        }
    }

    /// <summary>Every unit with a cost, by serial number: the first cost named, the first day out, the day it left if it is gone.</summary>
    public IReadOnlyList<DepreciableUnit> Units(PropertyClass taxClass)
    {
        var units = new List<DepreciableUnit>();
        foreach (var serial in moves.Keys)
        {
            var days = InOrder(serial);
            var placed = days.FirstOrDefault(move => move.Movement == Movement.Placed);
            var cost = days.FirstOrDefault(move => move.Cost is not null)?.Cost;
            if (placed is null || cost is not { } named || !named.IsPositive) { continue; }
            var left = Left(days);
            units.Add(new DepreciableUnit(serial, named, taxClass, placed.On, left?.On));
        }

        return units;
    }

    /// <summary>Whether a unit that has left was lost rather than sold.</summary>
    public bool WasLost(string serial) => Left(InOrder(serial)) is { Movement: Movement.Lost };

    private static UnitMove? Left(List<UnitMove> days) =>
        days.LastOrDefault(move => move.Movement is Movement.Sold or Movement.Lost or Movement.Found) is { Movement: not Movement.Found } last ? last : null;

    // Of one day, the contract that hands a unit in comes before the one it goes out on; each contract's own order stays.
    private List<UnitMove> InOrder(string serial) =>
        [.. moves[serial].OrderBy(move => move.Of.On).ThenByDescending(move => move.HandedIn).Select(move => move.Of)];
}
