using Contracts.Agreements;
using Contracts.History;
using Contracts.Instruments;

namespace Contracts.Fleet;

/// <summary>What a decision on a contract asks of the fleet: which unit it hands out, and under what name.</summary>
public static class Placing
{
    /// <summary>
    /// The unit that an accepted command hands out, or null. That a purchase is undone or a contract found running after all hands out nothing:
    /// the family has had the unit all along.
    /// </summary>
    /// <param name="history">The contract before the command.</param>
    /// <param name="outcomes">What the command brings.</param>
    public static (string Serial, string Kind)? HandedOut(ContractHistory history, IReadOnlyList<Outcome> outcomes)
    {
        foreach (var outcome in outcomes)
        {
            switch (outcome.Event)
            {
                case ContractEvent.Signed e: return (e.Instrument.Serial, e.Instrument.Kind);
                case ContractEvent.InstrumentExchanged e: return (e.Instrument.Serial, e.Instrument.Kind);
                case ContractEvent.InstrumentSwapped e: return (e.Serial, KindOf(history));
                case ContractEvent.Reinstated e: return (e.Serial ?? SerialOf(history), KindOf(history));
                default: break; // Hands out nothing.
            }
        }

        return null;
    }

    /// <summary>The serial number of the instrument that an event hands out and names, or null.</summary>
    /// <param name="fact">The event.</param>
    public static string? SerialIn(ContractEvent fact) => fact switch
    {
        ContractEvent.Signed e => e.Instrument.Serial,
        ContractEvent.InstrumentSwapped e => e.Serial,
        ContractEvent.InstrumentExchanged e => e.Instrument.Serial,
        ContractEvent.Reinstated e => e.Serial,
        _ => null,
    };

    /// <summary>The unit that the contract named last; a swap keeps the kind.</summary>
    private static string KindOf(ContractHistory history) => history.Facts.Aggregate("", (kind, fact) => fact.Event switch
    {
        ContractEvent.Signed e => e.Instrument.Kind,
        ContractEvent.InstrumentExchanged e => e.Instrument.Kind,
        _ => kind,
    });

    private static string SerialOf(ContractHistory history) => history.Facts.Aggregate("", (serial, fact) => fact.Event switch
    {
        ContractEvent.Signed e => e.Instrument.Serial,
        ContractEvent.InstrumentExchanged e => e.Instrument.Serial,
        ContractEvent.InstrumentSwapped e => e.Serial,
        ContractEvent.Reinstated { Serial: { } another } => another,
        _ => serial,
    });
}
