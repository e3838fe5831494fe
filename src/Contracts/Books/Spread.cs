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
    /// <summary>All days of the period.</summary>
    public int Days => Period.DaysBetween(From, To);

    /// <summary>The part of an amount that is earned by the end of a day: nothing before the period, all of it after.</summary>
    public Money Through(Money amount, LocalDate day)
    {
        if (day < From) { return Money.Zero; }
        return day >= To ? amount : Rate.Fraction(amount, Period.DaysBetween(From, day) + 1, Days);
    }
}
