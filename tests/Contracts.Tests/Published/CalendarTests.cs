using Contracts.Calendars;
using CsCheck;
using NodaTime;
using NodaTime.Text;
using Xunit;

namespace Contracts.Tests.Published;

/// <summary>Business days against the days that a Federal Reserve Bank publishes.</summary>
public sealed class CalendarTests
{
    /// <summary>
    /// richmondfed.org/about_us/holiday_schedule, read in November 2026: the days of the statute (5 U.S.C. 6103(a)) for three years, and that the banks are
    /// open on the Friday before a Saturday and closed on the Monday after a Sunday.
    /// </summary>
    public static readonly TheoryData<int, string> Schedule = new()
    {
        { 2025, "01-01 01-20 02-17 05-26 06-19 07-04 09-01 10-13 11-11 11-27 12-25" },
        { 2026, "01-01 01-19 02-16 05-25 06-19 07-04 09-07 10-12 11-11 11-26 12-25" },
        { 2027, "01-01 01-18 02-15 05-31 06-19 07-04 09-06 10-11 11-11 11-25 12-25" },
    };

    [Theory]
    [MemberData(nameof(Schedule))]
    public void The_holidays_are_those_of_the_published_schedule(int year, string days) =>
        Assert.Equal(days.Split(' ').Select(day => Day($"{year}-{day}")), BusinessCalendar.Banks.Holidays(year).Select(holiday => holiday.On));

    /// <summary>The same page for the banks; for federal offices the notes on 2027 at federalholidays.net/usa/federal-holidays-2027.html, read in November 2026.</summary>
    [Theory]
    [InlineData("2026-07-03", true, false)] // before Saturday, 4 July 2026
    [InlineData("2027-06-18", true, false)] // before Saturday, 19 June 2027
    [InlineData("2027-07-05", false, false)] // after Sunday, 4 July 2027
    [InlineData("2027-12-24", true, false)] // before Saturday, 25 December 2027
    [InlineData("2027-12-31", true, false)] // before Saturday, 1 January 2028
    [InlineData("2026-11-27", true, true)]
    [InlineData("2026-11-28", false, false)]
    public void A_holiday_on_a_weekend_moves_for_offices_and_in_part_for_banks(string day, bool banks, bool offices) =>
        Assert.Equal((banks, offices), (BusinessCalendar.Banks.IsBusinessDay(Day(day)), BusinessCalendar.Federal.IsBusinessDay(Day(day))));

    /// <summary>Juneteenth became a holiday in 2021 (Pub. L. 117-17, from memory).</summary>
    [Fact]
    public void A_holiday_begins_with_its_act() =>
        Assert.Equal((10, 11), (BusinessCalendar.Federal.Holidays(2020).Length, BusinessCalendar.Federal.Holidays(2021).Length));

    [Fact]
    public void Business_days_are_counted_over_weekends_and_holidays()
    {
        // Wednesday before Thanksgiving 2026: Friday is the first, Monday the second.
        Assert.Equal(Day("2026-11-30"), BusinessCalendar.Banks.After(Day("2026-11-25"), 2));
        Assert.Equal(Day("2026-11-27"), BusinessCalendar.Banks.OnOrAfter(Day("2026-11-26")));
        Assert.Equal(Day("2026-11-26"), BusinessCalendar.Banks.After(Day("2026-11-26"), 0));
    }

    [Fact]
    public void After_n_days_n_business_days_have_passed() => Gen.Select(Gen.Int[0, 20_000], Gen.Int[1, 40]).Sample((days, many) =>
    {
        var from = new LocalDate(1990, 1, 1).PlusDays(days);
        var to = BusinessCalendar.Federal.After(from, many);
        var counted = Enumerable.Range(1, Period.DaysBetween(from, to)).Count(day => BusinessCalendar.Federal.IsBusinessDay(from.PlusDays(day)));
        Assert.True(counted == many && BusinessCalendar.Federal.IsBusinessDay(to), $"{from} and {many} days: {to}");
    });

    private static LocalDate Day(string text) => LocalDatePattern.Iso.Parse(text).Value;
}
