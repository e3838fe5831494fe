using NodaTime;

namespace Contracts.Law;

/// <summary>What a pack allows of a late fee on a monthly payment.</summary>
public static class LateFees
{
    /// <summary>The rules on late fees for monthly payments of agreements of a day.</summary>
    public static IEnumerable<LawRule.FeeCap> Of(LawPack pack, LocalDate day) =>
        pack.Of<LawRule.FeeCap>(day).Where(rule => (rule.Fee == "late" || rule.LateFeeForbidden) && IsMonthly(rule.Frequency));

    /// <summary>The most that one payment may bring, rounded down; null where the pack gives no figure.</summary>
    public static (Money Most, string Citation)? Cap(LawPack pack, LocalDate day, Money payment)
    {
        (Money Most, string Citation)? lowest = null;
        foreach (var rule in Of(pack, day))
        {
            var most = rule.Forbidden || (rule.LateFeeForbidden && rule.Fee != "late") ? Money.Zero : rule.Amount?.For(payment)?.RoundedDown();
            if (most is { } found && (lowest is not { } low || found < low.Most)) { lowest = (found, rule.Citation); }
        }

        return lowest;
    }

    /// <summary>
    /// The fewest grace days with which a fee is lawful. The engine charges on the day after the grace days: "more than 7
    /// days" late is day 8, "at least 7 days" is day 7. Business days are held against the longest run of days they can be.
    /// </summary>
    public static int GraceDays(Grace grace)
    {
        var days = grace.BusinessDays ? grace.Count + (2 * ((grace.Count + 4) / 5)) + LongestHolidays : grace.Count;
        return grace.Bound == "at-least" ? Math.Max(days - 1, 0) : days;
    }

    /// <summary>Two holidays can fall into one run of business days, as at the turn of the year.</summary>
    private const int LongestHolidays = 2;

    public static bool IsMonthly(string frequency) => frequency is not ("weekly" or "weekly-biweekly" or "more-frequent" or "biweekly");
}
