using Contracts.History;
using NodaTime;

namespace Contracts.Agreements;

/// <summary>What an accepted command changes in days that have already passed.</summary>
public static partial class ContractDecider
{
    private static Decision.Accepted WithConsequences(
        ContractHistory history, DecisionContext context, CommandOrigin origin, Decision.Accepted accepted)
    {
        var fact = accepted.Outcomes[0].Event;
        var horizon = Horizon(history, context);
        if (fact.On > horizon ? !BringsFee(fact) : fact.On == horizon && OnlyMovesMoney(fact)) { return accepted; }

        // The fold ranks facts of one day by sequence; the new fact is the last that is known.
        var sequence = history.Entries[^1].Sequence + 1;
        var entry = new Recorded(
            fact, sequence, history.Entries[^1].At, origin.Key, origin.By, origin.Reason, null);
        var day = LocalDate.Max(horizon, fact.On);
        var after = AccountFold.At(history.Evolve(entry), context.Rates, day);
        if (after is null) { return accepted; }
        var before = AccountFold.At(history, context.Rates, day);
        return new Decision.Accepted(
            [.. accepted.Outcomes, .. Notes.Consequences(history, before, after, origin.Key)]);
    }

    /// <summary>The last day that has been told: today, or the furthest day a note is about.</summary>
    private static LocalDate Horizon(ContractHistory history, DecisionContext context)
    {
        var day = context.RecordingDate;
        foreach (var entry in history.Entries)
        {
            if (entry.Event.IsNote && entry.Event.TellsItsDay) { day = LocalDate.Max(day, entry.Event.On); }
        }

        return day;
    }

    /// <summary>Money of a day pays what fell due that day; it cannot change what did.</summary>
    private static bool OnlyMovesMoney(ContractEvent fact) =>
        fact is ContractEvent.PaymentReceived or ContractEvent.CreditGiven or ContractEvent.RefundIssued
            or ContractEvent.WrittenOff or ContractEvent.Recovered or ContractEvent.MerchandiseCreditSpent;

    private static bool BringsFee(ContractEvent fact) =>
        fact is ContractEvent.PaymentReversed or ContractEvent.LossReported or ContractEvent.BoughtEarly;
}
