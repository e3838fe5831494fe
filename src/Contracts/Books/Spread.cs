using NodaTime;

namespace Contracts.Books;

/// <summary>
/// A period over which an amount is earned evenly by day. Rounding is cumulative, half away from zero: what is earned
/// through a day is round(amount x days / all days), so the last day brings it to the amount exactly.
/// </summary>
/// <param name="From">The first day, which counts.</param>
/// <param name="To">The day after the last.</param>
public readonly record struct Spread(LocalDate From, LocalDate To)
{
    /// <summary>Cents below this times the days of any period stay within 64 bits.</summary>
    private const long FitsInLong = 1_000_000_000_000;

    /// <summary>All days of the period.</summary>
    public int Days => Period.DaysBetween(From, To);

    /// <summary>The part of an amount that is earned by the end of a day: nothing before the period, all of it after.</summary>
    public Money Through(Money amount, LocalDate day)
    {
        if (day < From) { return Money.Zero; }
        return day >= To ? amount : Rate.Fraction(amount, Period.DaysBetween(From, day) + 1, Days);
    }

    /// <summary>
    /// What each day earns, from the first day through the last: the same as the differences of <see cref="Through"/>,
    /// and far quicker for a whole period, which the cube asks for with every installment.
    /// </summary>
    public long[] CentsByDay(Money amount)
    {
        var cents = new long[Days];
        var size = Math.Abs(amount.Cents);
        if (size >= FitsInLong)
        {
            var earned = Money.Zero;
            for (var day = 0; day < cents.Length; day++)
            {
                var through = Rate.Fraction(amount, day + 1, cents.Length);
                (cents[day], earned) = ((through - earned).Cents, through);
            }

            return cents;
        }

        var (before, sign, all) = (0L, Math.Sign(amount.Cents), 2L * cents.Length);
        for (var day = 0; day < cents.Length; day++)
        {
            var through = ((2 * size * (day + 1)) + cents.Length) / all;
            (cents[day], before) = ((through - before) * sign, through);
        }

        return cents;
    }
}
