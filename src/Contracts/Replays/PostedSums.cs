using System.Collections.Immutable;
using System.Globalization;
using Contracts.Books;

namespace Contracts.Replays;

/// <summary>What an event added to the books in short: a digest of its lines, and their sums by account and reason.</summary>
/// <param name="Digest">Of every line with its day, period and authority; empty where there are no lines.</param>
/// <param name="Sums">By the stored numbers of account and reason, in their order; debits positive, in cents.</param>
public sealed record PostedSums(string Digest, ImmutableArray<(int Account, int Movement, long Cents)> Sums)
{
    private static readonly PostedSums None = new("", []);

    /// <summary>The lines of one event.</summary>
    public static PostedSums Of(IReadOnlyList<BookLine> lines) => Of(lines, new Utf8Text());

    /// <summary>The same with room for text that is used again.</summary>
    internal static PostedSums Of(IReadOnlyList<BookLine> lines, Utf8Text text)
    {
        if (lines.Count == 0) { return None; }
        var sums = new List<(int Account, int Movement, long Cents)>(lines.Count);
        text.Clear();
        for (var index = 0; index < lines.Count; index++)
        {
            var line = lines[index];
            Add(sums, (int)line.Account, (int)line.Movement, line.Amount.Cents);
            text.Number((int)line.Account).Sign(' ').Number((int)line.Movement).Sign(' ').Words(line.Authority).Sign(' ').Day(line.On).Sign(' ').Number(line.Amount.Cents);
            if (line.Spread is { } period) { text.Sign(' ').Day(period.From).Sign(' ').Day(period.To); }
            text.Sign('\n');
        }

        return new PostedSums(ShortDigest.Of(text.Written), [.. sums]);
    }

    /// <summary>An event has few sums, and its lines come nearly in their order, so their place is looked for from the end.</summary>
    private static void Add(List<(int Account, int Movement, long Cents)> sums, int account, int movement, long cents)
    {
        var place = sums.Count;
        while (place > 0 && (sums[place - 1].Account, sums[place - 1].Movement).CompareTo((account, movement)) > 0) { place--; }
        if (place > 0 && sums[place - 1].Account == account && sums[place - 1].Movement == movement) { sums[place - 1] = (account, movement, sums[place - 1].Cents + cents); }
        else { sums.Insert(place, (account, movement, cents)); }
    }

    /// <summary>An account and a reason in words, such as <c>unapplied-credit settled</c>.</summary>
    public static string Words(int account, int movement) =>
        Enum.IsDefined((BookAccount)account) && Enum.IsDefined((Movement)movement)
            ? $"{(BookAccount)account} {((Movement)movement).Word()}"
            : string.Create(CultureInfo.InvariantCulture, $"account {account} reason {movement}");
}
