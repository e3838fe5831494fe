using NodaTime;

namespace Contracts.Bank;

/// <summary>
/// The days on which the Federal Reserve Banks are open, by which returns of payments are counted. The holidays are those of 5 U.S.C. 6103(a);
/// one that falls on a Sunday is kept on Monday, and for one on a Saturday the banks are open on the Friday before (Federal Reserve
/// Financial Services, holiday schedule), which is where they differ from federal offices.
/// </summary>
public static class BankingDays
{
    /// <summary>Whether banks settle payments on a day.</summary>
    public static bool Is(LocalDate day) => day.DayOfWeek is not (IsoDayOfWeek.Saturday or IsoDayOfWeek.Sunday) && !IsHoliday(day);

    /// <summary>The day that so many banking days after another one is.</summary>
    public static LocalDate After(LocalDate day, int count)
    {
        while (count > 0)
        {
            day = day.PlusDays(1);
            if (Is(day)) { count--; }
        }

        return day;
    }

    private static bool IsHoliday(LocalDate day)
    {
        // A Monday is also kept for the Sunday before it.
        var kept = day.DayOfWeek == IsoDayOfWeek.Monday ? day.PlusDays(-1) : day;
        return IsFixed(day) || IsFixed(kept) || IsMoving(day);
    }

    private static bool IsFixed(LocalDate day) => (day.Month, day.Day) switch
    {
        (1, 1) or (7, 4) or (11, 11) or (12, 25) => true,
        // Juneteenth was added by Public Law 117-17 of 17 June 2021.
        (6, 19) => day.Year >= 2021,
        _ => false,
    };

    private static bool IsMoving(LocalDate day) => (day.Month, day.DayOfWeek) switch
    {
        // The third Monday of January and February, the last of May, the first of September, the second of October.
        (1 or 2, IsoDayOfWeek.Monday) => Week(day) == 3,
        (5, IsoDayOfWeek.Monday) => day.Day > 24,
        (9, IsoDayOfWeek.Monday) => Week(day) == 1,
        (10, IsoDayOfWeek.Monday) => Week(day) == 2,
        (11, IsoDayOfWeek.Thursday) => Week(day) == 4,
        _ => false,
    };

    private static int Week(LocalDate day) => (day.Day + 6) / 7;
}
