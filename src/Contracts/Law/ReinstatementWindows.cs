using NodaTime;

namespace Contracts.Law;

/// <summary>How long after a return a family may have its contract back.</summary>
public static class ReinstatementWindows
{
    /// <summary>The last day, and the section that says so; null where the pack gives no window that can be counted.</summary>
    /// <param name="pack">The pack of the contract.</param>
    /// <param name="signedOn">The day of the agreement.</param>
    /// <param name="returnedOn">The day the unit came back.</param>
    /// <param name="paidThrough">The end of the last term that was charged.</param>
    /// <param name="countShare">Payments made over payments in all.</param>
    /// <param name="moneyShare">Rent paid over the total of payments.</param>
    public static (LocalDate Last, string Citation)? LastDay(
        LawPack pack, LocalDate signedOn, LocalDate returnedOn, LocalDate paidThrough, Fraction countShare, Fraction moneyShare)
    {
        foreach (var rule in pack.Of<LawRule.Reinstatement>(signedOn))
        {
            if (rule.AfterRepossession) { continue; }
            if (AfterReturn(rule, returnedOn, countShare, moneyShare) is { } last) { return (last, rule.Citation); }
            if (rule.AfterReturn.IsEmpty && FromTheBase(rule, paidThrough) is { } end) { return (LocalDate.Max(end, returnedOn), rule.Citation); }
        }

        return null;
    }

    /// <summary>A share that no step covers gives no window: a gap in the act is not filled here.</summary>
    private static LocalDate? AfterReturn(LawRule.Reinstatement rule, LocalDate returnedOn, Fraction countShare, Fraction moneyShare)
    {
        foreach (var tier in rule.AfterReturn)
        {
            if (tier.Covers(tier.Measure == "payments-made" ? countShare : moneyShare)) { return returnedOn + tier.Length; }
        }

        return null;
    }

    private static LocalDate? FromTheBase(LawRule.Reinstatement rule, LocalDate paidThrough)
    {
        foreach (var window in rule.Base)
        {
            if (!LateFees.IsMonthly(window.Frequency)) { continue; }
            // Terms run from the end of the last paid one; half of a month is taken as 16 days, the longer of two readings.
            return window.Unit switch
            {
                "lease-terms" or "missed-payments" => paidThrough.PlusMonths(window.Count),
                "days" => paidThrough.PlusDays(window.ShareOfPeriod is null ? window.Count : Math.Max(window.Count, 16)),
                _ => null,
            };
        }

        return null;
    }
}
