using Contracts.Agreements;
using Contracts.Schedule;
using NodaTime;

namespace Contracts.History;

/// <summary>When the rental begins: on the day that was signed, or on the day of delivery where the agreement says so (M83).</summary>
public sealed partial class AccountFold
{
    /// <summary>The delivery that counts so far; 0 where none does.</summary>
    private long deliveredBy;

    /// <summary>Whether the agreement begins with a delivery that has not been told: nothing falls due, and no due date is fixed.</summary>
    internal bool AwaitsDelivery { get; private set; }

    /// <summary>The delivery of a day that was recorded last, if it was recorded after the one that counts so far: the earlier ones were wrong.</summary>
    private static long DeliveryAmong(ReadOnlySpan<Recorded> facts)
    {
        var last = 0L;
        foreach (var fact in facts)
        {
            if (fact.Event is ContractEvent.InstrumentDelivered) { last = Math.Max(last, fact.Sequence); }
        }

        return last;
    }

    /// <summary>From now on every due date is counted from the day of delivery instead of the one that was expected.</summary>
    private void TakeDelivery(ContractEvent.InstrumentDelivered delivered, long sequence)
    {
        (AwaitsDelivery, deliveredBy) = (false, sequence);
        schedule = RentSchedule.FromSigning(delivered.DeliveredOn ?? delivered.On, terms[0]);
    }

    private bool Deliver(Recorded fact, LocalDate day)
    {
        if (fact.Sequence != deliveredBy) { return false; }
        BeginRental(day);
        return true;
    }

    /// <summary>An order that ends before it was delivered brought nothing: what was sold with it is taken back, and its money waits to be given back.</summary>
    private void TakeBackOrder(LocalDate day)
    {
        if (allocation.StandingSale(AccessoriesId(history.FactsSeen[0].Key)) is { } sale) { Reverse(sale, day); }
    }

    private static string AccessoriesId(string key) => $"accessories:{key}";

    private bool HasBegun(LocalDate day) => !AwaitsDelivery && day >= schedule.Anchor;

    private void BeginRental(LocalDate day)
    {
        if (status == ContractStatus.Signed && HasBegun(day)) { status = ContractStatus.Active; }
    }
}
