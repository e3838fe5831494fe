using System.Globalization;
using NodaTime;

namespace Contracts.Disclosures;

/// <summary>How amounts, days and shares are spelled for a family; the same on every machine.</summary>
public static class PrintedWords
{
    private static readonly string[] Months =
    [
        "January", "February", "March", "April", "May", "June", "July", "August", "September", "October", "November", "December",
    ];

    /// <summary>Dollars with thousands set apart and without a sign for the currency, such as <c>1,195.00</c>.</summary>
    public static string Figure(Money amount)
    {
        var (sign, size) = amount.Cents < 0 ? ("-", -amount.Cents) : ("", amount.Cents);
        return string.Create(CultureInfo.InvariantCulture, $"{sign}{size / 100:#,##0}.{size % 100:00}");
    }

    /// <summary>An amount inside a sentence, such as <c>$1,195.00</c>.</summary>
    public static string Dollars(Money amount) => amount.Cents < 0 ? $"-${Figure(Money.Zero - amount)}" : $"${Figure(amount)}";

    /// <summary>A day as it is written in the United States, such as <c>September 5, 2026</c>.</summary>
    public static string Day(LocalDate day) => string.Create(CultureInfo.InvariantCulture, $"{Months[day.Month - 1]} {day.Day}, {day.Year}");

    /// <summary>The same with the month in three letters, such as <c>Sep 5, 2026</c>.</summary>
    public static string ShortDay(LocalDate day) => string.Create(CultureInfo.InvariantCulture, $"{Months[day.Month - 1].AsSpan(0, 3)} {day.Day}, {day.Year}");

    /// <summary>A moment to the second in UTC, such as <c>September 5, 2026, 14:00:05 UTC</c>.</summary>
    public static string Moment(Instant at)
    {
        var utc = at.InUtc();
        return string.Create(CultureInfo.InvariantCulture, $"{Day(utc.Date)}, {utc.Hour:00}:{utc.Minute:00}:{utc.Second:00} UTC");
    }

    /// <summary>A share in percent with no more decimals than it has, such as <c>8.875 %</c>.</summary>
    public static string Percent(Rate share)
    {
        // A hundredth of a hundred-millionth is a millionth of a percent.
        const long onePercent = 1_000_000;
        var (sign, size) = share.Units < 0 ? ("-", -share.Units) : ("", share.Units);
        var decimals = (size % onePercent).ToString("000000", CultureInfo.InvariantCulture).TrimEnd('0');
        return string.Create(CultureInfo.InvariantCulture, $"{sign}{size / onePercent}{(decimals.Length > 0 ? "." : "")}{decimals} %");
    }

    /// <summary>A number of things, such as <c>1 payment</c> or <c>30 payments</c>.</summary>
    public static string Count(int number, string one) => string.Create(CultureInfo.InvariantCulture, $"{number} {one}{(number == 1 ? "" : "s")}");
}
