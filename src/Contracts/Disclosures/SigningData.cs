using System.Collections.Immutable;
using Contracts.Agreements;
using Contracts.History;
using Contracts.Law;
using Contracts.Schedule;
using Contracts.Terms;
using NodaTime;

namespace Contracts.Disclosures;

/// <summary>Payments of one amount that follow each other.</summary>
/// <param name="Count">How many.</param>
/// <param name="Rent">The rent of each, without tax and plan.</param>
/// <param name="FirstOn">When the first is due.</param>
/// <param name="LastOn">When the last is due.</param>
public sealed record PaymentRun(int Count, Money Rent, LocalDate FirstOn, LocalDate LastOn)
{
    /// <summary>Every payment of a schedule, those of one amount together, in their order.</summary>
    public static ImmutableArray<PaymentRun> Of(RentSchedule schedule)
    {
        var runs = ImmutableArray.CreateBuilder<PaymentRun>();
        for (; schedule.HasNext; schedule = schedule.AfterNext())
        {
            var (rent, due) = (schedule.NextRent, schedule.NextDue);
            if (runs.Count > 0 && runs[^1].Rent == rent) { runs[^1] = runs[^1] with { Count = runs[^1].Count + 1, LastOn = due }; }
            else { runs.Add(new PaymentRun(1, rent, due, due)); }
        }

        return runs.ToImmutable();
    }
}

/// <summary>What is known when an agreement is signed: all that its disclosure sheet can be made from.</summary>
/// <param name="Contract">The contract's id.</param>
/// <param name="Signed">The signing.</param>
/// <param name="Account">The account at the end of the signing's day, as known right after it.</param>
/// <param name="Payments">The rents to ownership, as signed.</param>
/// <param name="Tax">The tax entry of the first due date.</param>
/// <param name="First">The first installment with its tax and plan.</param>
/// <param name="Law">The law pack it is signed under, or null.</param>
public sealed record SigningData(
    string Contract, ContractEvent.Signed Signed, Account Account, ImmutableArray<PaymentRun> Payments, TaxEntry Tax, NextDue? First, LawPack? Law)
{
    /// <summary>The signing data of an account on its signing's day.</summary>
    public static SigningData Of(AccountState state, Instant known, ReferenceData rates)
    {
        var signed = state.History.Signing;
        var schedule = RentSchedule.FromSigning(signed.StartOn, signed.Terms);
        var tax = rates.On(signed.Jurisdiction, signed.StartOn);
        NextDue? first = null;
        if (schedule.HasNext)
        {
            var delivery = tax.AtDelivery(schedule.RentLeft);
            var parts = InstallmentParts.Next(schedule, signed.Terms, signed.WithPlan, delivery is null ? tax : tax.AfterDelivery());
            first = new NextDue(parts.On, (delivery ?? Money.Zero) + parts.Tax + parts.Rent + parts.Plan);
        }

        return new SigningData(state.History.Contract, signed, Account.Of(state, known), PaymentRun.Of(schedule), tax, first, state.Law);
    }
}
