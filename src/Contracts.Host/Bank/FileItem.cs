using Contracts.Agreements;
using Contracts.Bank;

namespace Contracts.Host.Bank;

/// <summary>Something read from a money file, in its order.</summary>
public abstract record FileItem
{
    private FileItem() { }

    /// <summary>A statement begins; the balances that stand before its lines are in its total.</summary>
    public sealed record Begins(string Name, string Account, StatementTotal Total) : FileItem;

    /// <summary>A line that was booked.</summary>
    public sealed record Line(BankEntry Entry) : FileItem;

    /// <summary>A line the bank has not booked yet: it counts nowhere and comes again when it has.</summary>
    public sealed record NotBooked(string Place) : FileItem;

    /// <summary>A line that cannot be used; it is named and the others go on.</summary>
    public sealed record Bad(Refusal Refusal) : FileItem;
}

/// <summary>The file as a whole cannot be used. Answered as a refusal where the file was opened.</summary>
public sealed class MoneyFileException(Refusal refusal) : Exception(refusal.Detail)
{
    /// <summary>Why.</summary>
    public Refusal Refusal { get; } = refusal;

    /// <summary>The line of the file, from one; zero where there is none.</summary>
    public long Line { get; private init; }

    /// <summary>What is wrong, without the place.</summary>
    public string Why { get; private init; } = refusal.Detail;

    /// <summary>A file that cannot be read at a place.</summary>
    /// <param name="line">The line, from one; zero where there is none.</param>
    /// <param name="element">The element or column.</param>
    /// <param name="why">What is wrong, as a sentence.</param>
    /// <param name="citation">The standard that says so, or null.</param>
    public static MoneyFileException At(long line, string element, string why, string? citation = null) =>
        new(Unreadable(line, element, why, citation)) { Line = line, Why = why };

    /// <summary>The refusal alone.</summary>
    public static Refusal Unreadable(long line, string element, string why, string? citation = null) =>
        new(RefusalCode.MoneyFileUnreadable, line > 0 ? $"Line {line}, {element}: {why}" : $"{element}: {why}", element, null, citation);

    /// <summary>An amount in other money.</summary>
    public static MoneyFileException Currency(long line, string element, string currency) =>
        new(new Refusal(RefusalCode.MoneyFileCurrency, $"Line {line}, {element}: the amount is in {currency}; these books are in US dollars. No line of the file was used.",
            element, "USD", "ISO 4217"));
}
