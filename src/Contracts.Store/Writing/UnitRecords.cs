using Contracts.Agreements;
using Contracts.Fleet;
using Contracts.History;
using Contracts.Instruments;
using Contracts.Store.Fleet;
using NodaTime;

namespace Contracts.Store.Writing;

/// <summary>
/// Decides commands on units inside a batch, and holds what contracts take to what is known of the unit. Both see the same facts under the
/// store's one lock, and what a contract takes is recorded on the unit's stream at the version that was looked at: nobody gets in between.
/// </summary>
internal sealed class UnitRecords(WriteScope scope, BatchDecider desk)
{
    /// <summary>Records what a command on a unit brings, or says why not.</summary>
    public async Task<Refusal?> DecideAsync(Command.OnUnit command, Instant at, CancellationToken stop)
    {
        var unit = await scope.UnitAsync(command.Serial, stop).ConfigureAwait(false);
        var context = desk.ContextAt(at);
        var had = command.Body is UnitCommand.Acquire ? await HadByAsync(command.Serial, stop).ConfigureAwait(false) : [];
        var uses = await UsesAsync(unit, context, stop).ConfigureAwait(false);
        var (fact, refusal) = UnitDecider.Decide(unit, uses, context, command.Origin, command.On, command.Body);
        if (fact is null) { return refusal; }
        unit = Record(unit, fact, at, command.Origin, null);
        // A unit that families had before is acquired with all that their contracts say of it, and where it is: what they learn later counts too.
        foreach (var contract in had) { unit = Record(unit, new UnitEvent.Placed(contract) { On = command.On }, at, command.Origin, command.Origin.Key); }
        return null;
    }

    /// <summary>Why a contract cannot have the unit that an accepted command hands out, or null.</summary>
    public async Task<Refusal?> FaultAsync(ContractHistory before, IReadOnlyList<Outcome> outcomes, DecisionContext context, CancellationToken stop)
    {
        if (Placing.HandedOut(before, outcomes) is not var (serial, kind)) { return null; }
        var unit = await scope.UnitAsync(serial, stop).ConfigureAwait(false);
        if (unit.Acquisition is null) { return null; }
        return UnitDecider.PlacementFault(unit, await UsesAsync(unit, context, stop).ConfigureAwait(false), outcomes[0].Event.On, kind);
    }

    /// <summary>Records on the unit's stream that a contract took it, after the contract's own event.</summary>
    public async Task PlacedAsync(ContractHistory before, IReadOnlyList<Outcome> outcomes, Instant at, CommandOrigin origin, CancellationToken stop)
    {
        if (Placing.HandedOut(before, outcomes) is not var (serial, _)) { return; }
        var unit = await scope.UnitAsync(serial, stop).ConfigureAwait(false);
        if (unit.Acquisition is not null) { Record(unit, new UnitEvent.Placed(before.Contract) { On = outcomes[0].Event.On }, at, origin, origin.Key); }
    }

    /// <summary>The contracts that handed the unit out while it was not kept, those of this batch among them.</summary>
    private async Task<IReadOnlyList<string>> HadByAsync(string serial, CancellationToken stop)
    {
        var contracts = await scope.TextsAsync(UnitRows.Contracts, serial, stop).ConfigureAwait(false);
        return [.. contracts.Union(scope.HandedOut(serial), StringComparer.Ordinal).Order(StringComparer.Ordinal)];
    }

    private async Task<List<UnitUse>> UsesAsync(UnitHistory unit, DecisionContext context, CancellationToken stop)
    {
        var uses = new List<UnitUse>();
        foreach (var contract in unit.Contracts)
        {
            var known = await scope.FetchAsync(contract, stop).ConfigureAwait(false);
            uses.AddRange(UnitLife.UsesOf(unit.Serial, known.History, context.Rates, context.RecordingDate));
        }

        return uses;
    }

    private UnitHistory Record(UnitHistory unit, UnitEvent fact, Instant at, CommandOrigin origin, string? cause)
    {
        var item = desk.Findings.Add(UnitStreams.Of(unit.Serial), unit.Entries.Length, fact, at, origin, cause);
        unit = unit.Evolve(new UnitRecorded(fact, item.Sequence, at, origin.Key, origin.By, origin.Reason));
        scope.Units[unit.Serial] = unit;
        return unit;
    }
}
