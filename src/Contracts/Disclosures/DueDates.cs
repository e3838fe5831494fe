using System.Collections.Immutable;
using Contracts.Agreements;
using Contracts.History;
using Contracts.Schedule;
using NodaTime;

namespace Contracts.Disclosures;

/// <summary>An installment that has not fallen due, as it would if nothing changes.</summary>
/// <param name="Slot">Its place in the term, in months from the start date; a hold moves its day and not this.</param>
/// <param name="On">The due date.</param>
/// <param name="Amount">Rent, plan and tax, with the tax rates known now.</param>
public sealed record DueDate(int Slot, LocalDate On, Money Amount);

/// <summary>The due dates that remain.</summary>
public static class DueDates
{
    /// <summary>
    /// Every installment after the day of the account; none on hold or before a delivery that begins the rental, where days are not fixed, and none
    /// when it has ended.
    /// </summary>
    public static ImmutableArray<DueDate> Of(AccountState state)
    {
        if (state.HasEnded || state.Status == ContractStatus.OnHold || state.AwaitsDelivery) { return []; }
        var dates = ImmutableArray.CreateBuilder<DueDate>();
        var delivery = state.DeliveryTaxAhead;
        for (var schedule = state.Schedule; schedule.HasNext; schedule = schedule.AfterNext())
        {
            // Tax on all rents of the term comes with the first of them, and then no more.
            var tax = state.TaxOn(schedule.NextDue);
            var parts = InstallmentParts.Next(schedule, state.Terms, state.PlanElected, delivery is null ? tax : tax.AfterDelivery());
            var atDelivery = dates.Count == 0 ? delivery ?? Money.Zero : Money.Zero;
            dates.Add(new DueDate(schedule.NextSlot, parts.On, atDelivery + parts.Tax + parts.Rent + parts.Plan));
        }

        return dates.ToImmutable();
    }
}
