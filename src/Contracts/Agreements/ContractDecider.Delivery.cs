using Contracts.History;
using NodaTime;

namespace Contracts.Agreements;

/// <summary>The delivery that begins a rental, where the agreement says so (M83).</summary>
public static partial class ContractDecider
{
    private static Decision Deliver(Situation now, ContractCommand.Deliver c)
    {
        if (!now.History.Signing.StartsAtDelivery)
        {
            return Refuse(
                RefusalCode.DeliveryNotAwaited,
                $"This rental begins on {Iso(now.History.Signing.StartOn)}, whenever the instrument comes; a delivery is recorded with the unit (`deliver-unit`).",
                "contract", Iso(now.History.Signing.StartOn));
        }

        if (c.DeliveredOn is { } came && WrongDay(now, came) is { } wrong) { return Refuse(wrong); }
        if (now.Account.HasEnded) { return Forbidden(now, "delivered"); }
        if (Known(now) is { } recorded && Correction(now, recorded) is { } fault) { return Refuse(fault); }
        return Built(now) is { } built ? Refuse(built) : Accept(new ContractEvent.InstrumentDelivered(c.DeliveredOn) { On = now.On });
    }

    private static Refusal? WrongDay(Situation now, LocalDate came) =>
        came < now.On ? new Refusal(RefusalCode.DeliveryDayWrong, $"A delivery that came on {Iso(came)} is dated on that day.", "on", Iso(came))
        : came > now.Context.RecordingDate.PlusDays(FurthestAheadDays) ? TooFarAhead(came, now.Context) with { Field = "deliveredOn" }
        : null;

    /// <summary>The day of the delivery that counts, or null: the one recorded last.</summary>
    private static LocalDate? Known(Situation now)
    {
        Recorded? last = null;
        foreach (var fact in now.History.Facts)
        {
            if (fact.Event is ContractEvent.InstrumentDelivered && (last is null || fact.Sequence > last.Sequence)) { last = fact; }
        }

        return last?.Event.On;
    }

    /// <summary>Nothing before its own day follows from a fact: one that puts a delivery right is dated where that delivery is, or earlier.</summary>
    private static Refusal? Correction(Situation now, LocalDate recorded) =>
        string.IsNullOrWhiteSpace(now.Origin.Reason)
            ? new Refusal(RefusalCode.ReasonMissing, $"A delivery is already recorded on {Iso(recorded)}; another one puts its day right, and must say why.", "reason")
        : now.On > recorded
            ? new Refusal(
                RefusalCode.DeliveryDayWrong, $"A delivery is already recorded on {Iso(recorded)}; one that puts it right is dated on that day and says `deliveredOn`.", "on",
                Iso(recorded))
        : null;

    /// <summary>What stands on the schedule as it is, and would stand on nothing if the rental began on another day. A swap stands on no day of it.</summary>
    private static Refusal? Built(Situation now)
    {
        foreach (var fact in now.History.Facts)
        {
            if (!Orders(fact.Event) || fact.Event is ContractEvent.InstrumentDelivered or ContractEvent.InstrumentSwapped) { continue; }
            if (now.Account.IsOvertaken(fact.Sequence) || fact.Event.On <= now.On) { continue; }
            return Ordered(fact.Event.On);
        }

        return null;
    }
}
