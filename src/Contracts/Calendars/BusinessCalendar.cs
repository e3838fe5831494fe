using System.Collections.Immutable;
using System.Text.Json;
using NodaTime;

namespace Contracts.Calendars;

/// <summary>
/// Which days are business days: Monday to Friday without the federal holidays of the United States (5 U.S.C. 6103). State holidays, the
/// day of an inauguration (6103(c), the District of Columbia and around it) and a shop's own closed days are not in it.
/// </summary>
/// <remarks>An act that counts in business days may define them otherwise; ask local counsel.</remarks>
public sealed class BusinessCalendar
{
    private static readonly Lazy<ImmutableArray<HolidayRule>> Rules = new(Read);

    private readonly bool saturdayMoves;

    private BusinessCalendar(bool saturdayMoves) => this.saturdayMoves = saturdayMoves;

    /// <summary>Federal offices: a holiday on a Saturday is observed on the Friday before (6103(b)), one on a Sunday on the Monday after.</summary>
    public static BusinessCalendar Federal { get; } = new(saturdayMoves: true);

    /// <summary>The banks of the Federal Reserve: open on the Friday before a holiday on a Saturday, closed on the Monday after one on a Sunday.</summary>
    public static BusinessCalendar Banks { get; } = new(saturdayMoves: false);

    /// <summary>The holidays whose statutory day is in a year, in the order of their days.</summary>
    /// <param name="year">The year.</param>
    public ImmutableArray<Holiday> Holidays(int year) =>
        [.. from rule in Rules.Value let day = rule.In(year) where day is not null orderby day.Value select new Holiday(rule.Name, day.Value, Observed(day.Value))];

    /// <summary>Whether business is done on a day.</summary>
    /// <param name="day">The day.</param>
    public bool IsBusinessDay(LocalDate day) =>
        day.DayOfWeek is not (IsoDayOfWeek.Saturday or IsoDayOfWeek.Sunday) && !IsObserved(day);

    /// <summary>The day itself when business is done on it, else the next one.</summary>
    /// <param name="day">The day.</param>
    public LocalDate OnOrAfter(LocalDate day)
    {
        while (!IsBusinessDay(day)) { day = day.PlusDays(1); }
        return day;
    }

    /// <summary>The n-th business day after a day; the day itself is not counted.</summary>
    /// <param name="day">The day.</param>
    /// <param name="days">How many, 0 or more; 0 is the day itself.</param>
    public LocalDate After(LocalDate day, int days)
    {
        ArgumentOutOfRangeException.ThrowIfNegative(days);
        for (var left = days; left > 0; left--) { day = OnOrAfter(day.PlusDays(1)); }
        return day;
    }

    private LocalDate Observed(LocalDate on) => on.DayOfWeek switch
    {
        IsoDayOfWeek.Saturday when saturdayMoves => on.PlusDays(-1),
        IsoDayOfWeek.Sunday => on.PlusDays(1),
        _ => on,
    };

    /// <summary>New Year's Day on a Saturday is observed in the year before it.</summary>
    private bool IsObserved(LocalDate day) => Rules.Value.Any(rule => IsItsDay(rule, day, day.Year) || (day is { Month: 12, Day: 31 } && IsItsDay(rule, day, day.Year + 1)));

    private bool IsItsDay(HolidayRule rule, LocalDate day, int year) => rule.In(year) is { } on && Observed(on) == day;

    private static ImmutableArray<HolidayRule> Read()
    {
        using var stream = typeof(BusinessCalendar).Assembly.GetManifestResourceStream("us-federal.json")!;
        using var json = JsonDocument.Parse(stream);
        return [.. json.RootElement.GetProperty("holidays").EnumerateArray().Select(Rule)];
    }

    private static HolidayRule Rule(JsonElement one) => new(
        one.GetProperty("name").GetString()!, one.GetProperty("month").GetInt32(),
        one.TryGetProperty("day", out var day) ? day.GetInt32() : null,
        one.TryGetProperty("weekday", out var weekday) ? Enum.Parse<IsoDayOfWeek>(weekday.GetString()!, ignoreCase: true) : IsoDayOfWeek.None,
        one.TryGetProperty("nth", out var nth) ? nth.GetInt32() : 0,
        one.TryGetProperty("from", out var from) ? from.GetInt32() : 0);
}
