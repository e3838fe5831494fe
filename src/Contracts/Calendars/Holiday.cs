using NodaTime;

namespace Contracts.Calendars;

/// <summary>A public holiday of one year.</summary>
/// <param name="Name">Its name as the statute writes it.</param>
/// <param name="On">The day that the statute names.</param>
/// <param name="Observed">The working day that is free instead, where that day is on a weekend; else the same day.</param>
public sealed record Holiday(string Name, LocalDate On, LocalDate Observed);

/// <summary>A holiday as its statute fixes it: a day of a month, or the n-th weekday of one.</summary>
/// <param name="Name">Its name as the statute writes it.</param>
/// <param name="Month">The month, 1 to 12.</param>
/// <param name="Day">The day of the month, or null for one that goes by the weekday.</param>
/// <param name="Weekday">The weekday of one that goes by it.</param>
/// <param name="Nth">Which of the month: 1 for the first, -1 for the last.</param>
/// <param name="From">The first year in which it was one.</param>
public sealed record HolidayRule(string Name, int Month, int? Day, IsoDayOfWeek Weekday, int Nth, int From)
{
    /// <summary>Its day in a year; null before it was a holiday.</summary>
    /// <param name="year">The year.</param>
    public LocalDate? In(int year)
    {
        if (year < From) { return null; }
        if (Day is { } day) { return new LocalDate(year, Month, day); }
        return Nth > 0
            ? new LocalDate(year, Month, 1).With(DateAdjusters.NextOrSame(Weekday)).PlusWeeks(Nth - 1)
            : new LocalDate(year, Month, 1).With(DateAdjusters.EndOfMonth).With(DateAdjusters.PreviousOrSame(Weekday)).PlusWeeks(Nth + 1);
    }
}
