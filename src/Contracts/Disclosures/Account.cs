using System.Collections.Immutable;
using System.Runtime.InteropServices;
using Contracts.Agreements;
using Contracts.Equity;
using Contracts.History;
using Contracts.Payments;
using Contracts.Schedule;
using NodaTime;

namespace Contracts.Disclosures;

/// <summary>What money has paid, by kind; the total is their sum.</summary>
public sealed record PaidFigures(Money Total, Money Rent, Money Plan, Money Tax, Money Fees, Money Accessories, Money Purchase);

/// <summary>Installments: in all, fallen due, fully paid, and still to fall due.</summary>
public sealed record InstallmentCounts(int Total, int Due, int Paid, int Remaining);

/// <summary>One unpaid part of a charge.</summary>
public sealed record OpenItem(string Id, string Kind, string Part, LocalDate DueOn, Money Charged, Money Open);

/// <summary>The next installment as elected and located on the day, with a delivery tax that falls due with it; not reduced by waiting credit.</summary>
public sealed record NextDue(LocalDate On, Money Amount);

/// <summary>
/// One account at the end of a day as known at a moment: every figure a disclosure, a receipt or a statement uses.
/// </summary>
/// <remarks>Rent-to-own disclosure rules vary by state. Not legal, tax or accounting advice; ask local counsel.</remarks>
public sealed record Account(
    string Contract, LocalDate On, Instant Known, string Status, string Kind, string Serial,
    Money Equity, Money CarriedEquity, Money RemainingToOwn,
    Money PastDue, Money UnappliedCredit, Money GoodwillCredit, Money MerchandiseCredit,
    EarlyPurchase EarlyPurchase, PaidFigures Paid, InstallmentCounts Installments,
    Money RemainingBySchedule, Money TotalCost, Money CostOfRental,
    ImmutableArray<OpenItem> OpenItems, NextDue? NextDue, int Events, long LastSequence, TakenOver? TakenOver = null)
{
    public static Account Of(AccountState state, Instant known)
    {
        var history = state.History;
        var (events, last) = Seen(state);
        var remaining = state.HasEnded ? 0 : state.Schedule.Count;
        return new Account(
            history.Contract, state.On, known, state.StatusWord, state.Kind, state.Serial,
            state.Equity, state.CarriedEquity,
            state.Status == ContractStatus.Owned ? Money.Zero : state.Terms.PurchasePrice - state.Equity,
            state.PastDue, state.UnappliedCredit, state.GoodwillCredit, state.MerchandiseCredit,
            EarlyPurchase.On(state), PaidOf(state.Paid), Count(state, remaining),
            state.HasEnded ? Money.Zero : state.OpenRent + state.Schedule.RentLeft,
            state.Terms.TotalRent, state.Terms.TotalRent - state.Terms.CashPrice,
            ToOpenItems(state.OpenItems), Next(state), events, last, TakenOver.Of(history.EntriesSeen[0].Key));
    }

    private static (int Events, long Last) Seen(AccountState state)
    {
        var (events, last) = (0, 0L);
        foreach (var entry in state.History.EntriesSeen)
        {
            if (entry.Event.On > state.On) { continue; }
            events++;
            last = entry.Sequence;
        }

        return (events, last);
    }

    private static PaidFigures PaidOf(PaidTotals paid) =>
        new(paid.Total, paid.Rent, paid.Plan, paid.Tax, paid.Fees, paid.Accessories, paid.Purchase);

    private static InstallmentCounts Count(AccountState state, int remaining) => new(
        state.InstallmentsCharged + remaining, state.InstallmentsCharged, state.InstallmentsCharged - state.InstallmentsUnpaid, remaining);

    private static NextDue? Next(AccountState state)
    {
        if (state.HasEnded || state.Status == ContractStatus.OnHold || state.AwaitsDelivery || !state.Schedule.HasNext) { return null; }
        var tax = state.TaxOn(state.Schedule.NextDue);
        var delivery = state.DeliveryTaxAhead;
        if (delivery is not null) { tax = tax.AfterDelivery(); }
        var parts = InstallmentParts.Next(state.Schedule, state.Terms, state.PlanElected, tax);
        return new NextDue(parts.On, (delivery ?? Money.Zero) + parts.Tax + parts.Rent + parts.Plan);
    }

    private static ImmutableArray<OpenItem> ToOpenItems(IReadOnlyList<ChargeItem> items)
    {
        if (items.Count == 0) { return []; }
        var open = new OpenItem[items.Count];
        for (var index = 0; index < open.Length; index++)
        {
            var item = items[index];
            open[index] = new OpenItem(item.Charge.Id, item.Charge.Kind.Word(), item.Part.Word(), item.Charge.DueOn, item.Charged, item.Open);
        }

        return ImmutableCollectionsMarshal.AsImmutableArray(open);
    }
}
