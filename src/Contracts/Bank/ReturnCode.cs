using System.Collections.Frozen;
using System.Text.Json;
using Contracts.Calendars;
using NodaTime;

namespace Contracts.Bank;

/// <summary>By when a bank has to send a payment back.</summary>
public enum ReturnFrame
{
    /// <summary>So many banking days after settlement.</summary>
    BankingDays,

    /// <summary>So many calendar days after settlement; the return arrives on the next banking day at the latest.</summary>
    CalendarDays,

    /// <summary>With the next file after it was processed: the entry never settled.</summary>
    NextFile,

    /// <summary>As the two banks agree, or at once when the receiver refuses.</summary>
    NoFixedDay,
}

/// <summary>A reason for which an ACH entry comes back.</summary>
/// <param name="Code">The code, such as <c>R01</c>.</param>
/// <param name="Title">What it says, in our words.</param>
/// <param name="Frame">How its time is counted.</param>
/// <param name="Days">How many days; zero where the frame has none.</param>
/// <param name="OfConsumerDebit">Whether a debit of a family's account can come back with it.</param>
/// <param name="Citation">Where it was read.</param>
/// <param name="Verified">How it is known: <c>read</c> in the cited text, or from <c>memory</c>.</param>
public sealed record ReturnCode(string Code, string Title, ReturnFrame Frame, int Days, bool OfConsumerDebit, string Citation, string Verified)
{
    private static readonly Lazy<FrozenDictionary<string, ReturnCode>> Known = new(Read);

    /// <summary>Every code that is known, in its order.</summary>
    public static IReadOnlyList<ReturnCode> All => [.. Known.Value.Values.OrderBy(one => one.Code, StringComparer.Ordinal)];

    /// <summary>A code, or null where it is not known.</summary>
    public static ReturnCode? Find(string code) => Known.Value.GetValueOrDefault(code);

    /// <summary>The last day on which it arrives in time for an entry that settled on a day, or null where it has no fixed day.</summary>
    public LocalDate? LastDay(LocalDate settledOn) => Frame switch
    {
        ReturnFrame.BankingDays => BusinessCalendar.Banks.After(settledOn, Days),
        ReturnFrame.CalendarDays => BusinessCalendar.Banks.After(settledOn.PlusDays(Days), 1),
        ReturnFrame.NextFile => BusinessCalendar.Banks.After(settledOn, 1),
        _ => null,
    };

    /// <summary>The time frame in words.</summary>
    public string FrameWords => Frame switch
    {
        ReturnFrame.BankingDays => $"{Days} banking days",
        ReturnFrame.CalendarDays => $"{Days} calendar days",
        ReturnFrame.NextFile => "next file",
        _ => "no fixed day",
    };

    private static FrozenDictionary<string, ReturnCode> Read()
    {
        using var stream = typeof(ReturnCode).Assembly.GetManifestResourceStream("bank.return-codes.json")
            ?? throw new InvalidOperationException("The program was built without its return codes.");
        using var document = JsonDocument.Parse(stream);
        var source = document.RootElement.GetProperty("source").GetString()!;
        return document.RootElement.GetProperty("codes").EnumerateArray().Select(one => new ReturnCode(
            one.GetProperty("code").GetString()!, one.GetProperty("title").GetString()!,
            one.GetProperty("frame").GetString()! switch
            {
                "banking-days" => ReturnFrame.BankingDays,
                "calendar-days" => ReturnFrame.CalendarDays,
                "next-file" => ReturnFrame.NextFile,
                "no-fixed-day" => ReturnFrame.NoFixedDay,
                var other => throw new InvalidOperationException($"No such time frame: {other}."),
            },
            one.TryGetProperty("days", out var days) ? days.GetInt32() : 0, one.GetProperty("consumerDebit").GetBoolean(),
            one.TryGetProperty("citation", out var citation) ? citation.GetString()! : source, one.GetProperty("verified").GetString()!))
            .ToFrozenDictionary(one => one.Code, StringComparer.Ordinal);
    }
}
