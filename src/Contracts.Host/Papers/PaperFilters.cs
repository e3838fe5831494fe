using Contracts.Disclosures;
using Fluid;
using Fluid.Values;
using NodaTime.Text;

namespace Contracts.Host.Papers;

/// <summary>How templates write amounts, days and words; each figure keeps its machine-readable value in the HTML.</summary>
internal static class PaperFilters
{
    public static void Add(FilterCollection filters)
    {
        filters.AddFilter("money", (input, _, _) => Html(Amount(input.ToStringValue())));
        filters.AddFilter("day", (input, _, _) => Html(Day(input.ToStringValue())));
        filters.AddFilter("short", (input, _, _) => Html(Short(input.ToStringValue())));
        filters.AddFilter("brief", (input, _, _) => Html(Brief(input.ToStringValue())));
        filters.AddFilter("moment", (input, _, _) => Html(Moment(input.ToStringValue())));
        filters.AddFilter("plain", (input, _, _) => Text(Plain(input.ToStringValue())));
    }

    private static string Amount(string text) =>
        Money.TryParse(text, out var amount) ? $"<data value=\"{amount}\">{PrintedWords.Figure(amount).Replace('-', '\u2212')}</data>" : throw Not(text, "an amount");

    private static string Day(string text) =>
        LocalDatePattern.Iso.Parse(text) is { Success: true } day ? $"<time datetime=\"{text}\">{PrintedWords.Day(day.Value)}</time>" : throw Not(text, "a day");

    /// <summary>A day in a narrow column: the form of ISO 8601, which no reader takes for another day.</summary>
    private static string Short(string text) =>
        LocalDatePattern.Iso.Parse(text).Success ? $"<time datetime=\"{text}\">{text}</time>" : throw Not(text, "a day");

    /// <summary>A day in a narrow column, in words: Sep 5, 2026.</summary>
    private static string Brief(string text) =>
        LocalDatePattern.Iso.Parse(text) is { Success: true } day ? $"<time datetime=\"{text}\">{PrintedWords.ShortDay(day.Value)}</time>" : throw Not(text, "a day");

    private static string Moment(string text) =>
        InstantPattern.ExtendedIso.Parse(text) is { Success: true } at ? $"<time datetime=\"{text}\">{PrintedWords.Moment(at.Value)}</time>" : throw Not(text, "a moment");

    /// <summary>A word of files as words for people: <c>refund-to-recover</c> becomes Refund to recover.</summary>
    private static string Plain(string word) => word switch
    {
        "" => "",
        "late" => "Late fee",
        "returned" => "Payment returned by a bank",
        "unreturned" => "Unit not brought back",
        _ => char.ToUpperInvariant(word[0]) + word[1..].Replace('-', ' '),
    };

    private static FormatException Not(string text, string expected) => new($"'{text}' is not {expected}");

    private static ValueTask<FluidValue> Html(string html) => new(new StringValue(html, encode: false));

    private static ValueTask<FluidValue> Text(string text) => new(new StringValue(text));
}
