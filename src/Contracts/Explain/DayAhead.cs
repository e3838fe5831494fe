using Contracts.History;
using Contracts.Law;
using Contracts.Terms;
using NodaTime;

namespace Contracts.Explain;

/// <summary>The next day on which a figure may be another one; the days between are skipped.</summary>
internal static class DayAhead
{
    /// <summary>
    /// The next day after the one a fold has reached: of a fact, a charge or a fee; of the end of a discount tier or of a month by which a
    /// limit is counted; of a tax rate; or simply the next one, where a hold moves the schedule from day to day.
    /// </summary>
    public static LocalDate? Of(AccountFold fold, ReferenceData rates)
    {
        var (state, on) = (new AccountState(fold), fold.Through);
        if (on == LocalDate.MaxIsoValue) { return null; }
        if (state.Status == ContractStatus.OnHold) { return on.PlusDays(1); }
        var day = fold.NextDay();
        foreach (var candidate in Ends(state).Concat(rates.Of(state.Jurisdiction).Select(entry => entry.From)))
        {
            if (candidate > on && candidate < day) { day = candidate; }
        }

        return day == LocalDate.MaxIsoValue ? null : day;
    }

    private static IEnumerable<LocalDate> Ends(AccountState state)
    {
        var schedule = state.Schedule;
        if (!state.AwaitsDelivery) { yield return schedule.Anchor; }
        foreach (var tier in state.Terms.EarlyPurchase)
        {
            if (!state.AwaitsDelivery && tier.ThroughMonth is { } month) { yield return schedule.Anchor.PlusMonths(month + schedule.Shift); }
        }

        if (state.Law is not { } law) { yield break; }
        var signed = state.History.Signing.On;
        foreach (var rule in law.Of<LawRule.PurchasePrice>(signed))
        {
            if (rule.FromMonth is { } first) { yield return signed.PlusMonths(first); }
            if (rule.BeforeMonth is { } end) { yield return signed.PlusMonths(end); }
        }
    }
}
