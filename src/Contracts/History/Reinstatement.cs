using Contracts.Law;
using Contracts.Payments;
using NodaTime;

namespace Contracts.History;

/// <summary>How long a returned contract may be had back (M60).</summary>
public static class Reinstatement
{
    /// <summary>The last day, and the section that gives it; null where the shop's own days count.</summary>
    /// <param name="account">The returned account.</param>
    /// <param name="returnedOn">The day of the return.</param>
    public static (LocalDate Last, string? Citation) LastDay(AccountState account, LocalDate returnedOn)
    {
        var shops = returnedOn.PlusDays(States.DefaultReinstatementDays);
        if (account.Law is not { } law) { return (shops, null); }
        var (made, charged) = (0, 0);
        var last = account.Schedule.Anchor;
        foreach (var charge in account.Charges)
        {
            if (charge.Kind != ChargeKind.Installment || charge.ReversedOn is not null) { continue; }
            charged++;
            made += charge.IsPaid ? 1 : 0;
            last = LocalDate.Max(last, charge.DueOn);
        }

        // The next installment would have fallen due when the last paid term ends.
        var through = account.Schedule.HasNext ? account.Schedule.NextDue : last.PlusMonths(1);
        var all = charged + account.Schedule.Count;
        var total = account.Terms.TotalRent;
        var window = ReinstatementWindows.LastDay(
            law, account.History.Signing.On, returnedOn, through,
            all == 0 ? Fraction.One : Fraction.Of(made, all),
            total == Money.Zero ? Fraction.One : Fraction.Of(account.RentPaidWithPastDue.Cents, total.Cents));
        return window is { } found ? (found.Last, found.Citation) : (shops, null);
    }
}
