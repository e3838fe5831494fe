using System.Collections.Immutable;
using Contracts.History;
using Contracts.Instruments;
using Contracts.Terms;
using NodaTime;

namespace Contracts.Fleet;

/// <summary>
/// One unit as of a day, as known at a moment: where it is, who had it, and what it earned and cost over its life so far. A unit that was
/// never acquired as one has the same answer from the contracts that name it.
/// </summary>
/// <param name="State">Where it is.</param>
/// <param name="Uses">The contracts that had it by that day, in the order of taking.</param>
/// <param name="Facts">What its own stream says by that day, by day.</param>
/// <param name="On">The day.</param>
public sealed record UnitLife(UnitState State, ImmutableArray<UnitUse> Uses, ImmutableArray<UnitRecorded> Facts, LocalDate On)
{
    /// <summary>Rent paid for it.</summary>
    public Money Rent => Sum(use => use.Rent);

    /// <summary>What was paid to own it: by families, and over the counter of the store.</summary>
    public Money Sale => Sum(use => use.Sale) + State.SoldFor;

    /// <summary>What was paid because it did not come back after a swap.</summary>
    public Money NotReturned => Sum(use => use.NotReturned);

    /// <summary>Rent, sale and what was paid for its not coming back.</summary>
    public Money Earned => Rent + Sale + NotReturned;

    /// <summary>What it cost to buy; nothing where nobody said so, see <see cref="UnitState.Cost"/>.</summary>
    public Money Cost => State.Cost ?? Money.Zero;

    /// <summary>What its repairs cost.</summary>
    public Money Repair => State.RepairCost;

    /// <summary>Earned less cost and repairs; before depreciation, the shop's work and every other expense.</summary>
    public Money Net => Earned - Cost - Repair;

    /// <summary>The contract that has it, or whose family does; null where none does.</summary>
    public string? Holder => State.IsWithFamily || State.Status == UnitStatus.Owned ? State.LastUse!.Contract : null;

    /// <summary>The unit at the end of a day, or null where nothing names it by then.</summary>
    /// <param name="history">Its own stream as known.</param>
    /// <param name="contracts">Every contract that ever names it, as known.</param>
    /// <param name="rates">Taxes and laws as known.</param>
    /// <param name="on">The day.</param>
    public static UnitLife? At(UnitHistory history, IEnumerable<ContractHistory> contracts, ReferenceData rates, LocalDate on)
    {
        ImmutableArray<UnitUse> uses =
        [
            .. contracts.SelectMany(contract => UnitTrace.Of(contract, rates, on)).Where(use => use.Serial == history.Serial)
                .OrderBy(use => use.From).ThenBy(use => use.FromSequence),
        ];
        ImmutableArray<UnitRecorded> facts = [.. history.Facts.TakeWhile(fact => fact.Event.On <= on)];
        return uses.IsEmpty && facts.IsEmpty ? null : new UnitLife(UnitState.At(history, uses, on), uses, facts, on);
    }

    /// <summary>The uses of one unit as far as anything is recorded, which is what a decision has to see.</summary>
    /// <param name="serial">The unit.</param>
    /// <param name="contract">A contract that names it.</param>
    /// <param name="rates">Taxes and laws.</param>
    /// <param name="today">The recording date.</param>
    public static IEnumerable<UnitUse> UsesOf(string serial, ContractHistory contract, ReferenceData rates, LocalDate today) => contract.IsSigned
        ? UnitTrace.Of(contract, rates, LocalDate.Max(today, contract.Facts[^1].Event.On)).Where(use => use.Serial == serial)
        : [];

    /// <summary>Every use of every unit by one contract by a day.</summary>
    /// <param name="contract">The contract.</param>
    /// <param name="rates">Taxes and laws.</param>
    /// <param name="on">The day.</param>
    public static IReadOnlyList<UnitUse> UsesOf(ContractHistory contract, ReferenceData rates, LocalDate on) => UnitTrace.Of(contract, rates, on);

    private Money Sum(Func<UnitUse, Money> amount) => Uses.Aggregate(Money.Zero, (sum, use) => sum + amount(use));
}
