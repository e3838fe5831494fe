using Contracts.Agreements;
using Contracts.Fleet;
using Contracts.History;
using Contracts.Instruments;
using Contracts.Store.Fleet;

namespace Contracts.Host.Replay;

/// <summary>Holds what the streams of units say of contracts against what the contracts say: each taking of a kept unit is on both sides, once.</summary>
internal sealed class UnitCheck
{
    private readonly Dictionary<string, UnitHistory> kept;
    private readonly HashSet<(string Serial, string Contract, string Key)> told;
    private readonly CheckReport report;

    public UnitCheck(IReadOnlyList<UnitHistory> units, CheckReport report)
    {
        this.report = report;
        kept = units.ToDictionary(unit => unit.Serial, StringComparer.Ordinal);
        // A unit that a family had already was told of with its acquisition.
        told = [.. units.SelectMany(unit => unit.Entries.Where(entry => entry.Event is UnitEvent.Placed && entry.Key != unit.Entries[0].Key)
            .Select(entry => (unit.Serial, ((UnitEvent.Placed)entry.Event).Contract, entry.Key)))];
        foreach (var unit in units)
        {
            report.Count("units");
            if (unit.Acquisition is null) { Fault(unit.Serial, "It does not begin with an acquisition."); }
        }
    }

    /// <summary>Looks at one contract.</summary>
    public void Look(ContractHistory history)
    {
        if (kept.Count == 0 || !history.Facts.Any(fact => Placing.SerialIn(fact.Event) is { } serial && kept.ContainsKey(serial))) { return; }
        var before = ContractHistory.Unsigned(history.Contract);
        foreach (var entry in history.Entries)
        {
            if (Placing.HandedOut(before, [new Outcome(entry.Event)]) is var (serial, _) && kept.TryGetValue(serial, out var unit)
                && entry.Sequence > unit.Entries[0].Sequence && !told.Remove((serial, history.Contract, entry.Key)))
            {
                Fault(serial, $"{history.Contract} took it as {entry.Key}, and it does not say so.");
            }

            before = before.Evolve(entry);
        }
    }

    /// <summary>What is left over when every contract was looked at.</summary>
    public void Finish()
    {
        foreach (var (serial, contract, key) in told) { Fault(serial, $"It says that {contract} took it as {key}; the contract does not."); }
    }

    private void Fault(string serial, string detail) => report.Faults.Add(new Fault("unit-differs", UnitStreams.Of(serial), null, "serial", detail));
}
