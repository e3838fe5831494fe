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

/// <summary>What is known when an agreement is signed, or made anew by an exchange: all that its disclosure sheet can be made from.</summary>
/// <param name="Contract">The contract's id.</param>
/// <param name="Signed">The signing; of an exchange, the signing as it would read for the new instrument, terms and home.</param>
/// <param name="Account">The account at the end of the day, as known right after it.</param>
/// <param name="Payments">The rents to ownership that the terms bring.</param>
/// <param name="Tax">The tax entry of the first of those.</param>
/// <param name="First">The first of those with its tax and plan.</param>
/// <param name="Law">The law pack of the contract, or null.</param>
/// <param name="Form">Which words the sheet uses: those of the template set of this number.</param>
/// <param name="Exchange">What an exchange leaves over, or null at a signing.</param>
public sealed record SigningData(
    string Contract, ContractEvent.Signed Signed, Account Account, ImmutableArray<PaymentRun> Payments, TaxEntry Tax, NextDue? First, LawPack? Law,
    int Form = SigningData.NewestForm, ExchangeData? Exchange = null)
{
    /// <summary>The words of today. What was printed in other words keeps them: a change of words is the next number.</summary>
    public const int NewestForm = 3;

    /// <summary>The signing data of an account on its signing's day.</summary>
    public static SigningData Of(AccountState state, Instant known, ReferenceData rates, int form = NewestForm)
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

        return new SigningData(state.History.Contract, signed, Account.Of(state, known), PaymentRun.Of(schedule), tax, first, state.Law, form);
    }

    /// <summary>The same for an exchange, on its own day and as known right after it.</summary>
    public static SigningData Of(AccountState state, ContractEvent.InstrumentExchanged exchange, Instant known, ReferenceData rates)
    {
        var signed = state.History.Signing with
        {
            On = exchange.On, Instrument = exchange.Instrument, Terms = exchange.Terms, Accessories = exchange.Accessories, State = state.State,
            Jurisdiction = state.Jurisdiction, WithPlan = state.PlanElected && exchange.Terms.Plan is not null,
        };
        var (account, schedule) = (Account.Of(state, known), state.Schedule);
        return new SigningData(
            state.History.Contract, signed, account, PaymentRun.Of(schedule), rates.On(state.Jurisdiction, schedule.HasNext ? schedule.NextDue : exchange.On),
            account.NextDue, state.Law, NewestForm, new ExchangeData(schedule.RentLeft, account.CarriedEquity, schedule.Shift));
    }
}

/// <summary>What the terms of an exchange begin with.</summary>
/// <param name="RentAhead">Rent still to fall due under them.</param>
/// <param name="Carried">Equity carried over from the terms before.</param>
/// <param name="Shift">Months by which holds have moved the schedule, and with it the ends of the discounts.</param>
public sealed record ExchangeData(Money RentAhead, Money Carried, int Shift);
