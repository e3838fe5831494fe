using System.Collections.Immutable;
using System.Globalization;
using Contracts.Books;

namespace Contracts.Replays;

/// <summary>What an event added to the books in short: a digest of its lines, and their sums by account and reason.</summary>
/// <param name="Digest">Of every line with its day, period and authority; empty where there are no lines.</param>
/// <param name="Sums">By the stored numbers of account and reason, in their order; debits positive, in cents.</param>
public sealed record PostedSums(string Digest, ImmutableArray<(int Account, int Movement, long Cents)> Sums)
{
    /// <summary>Reads the lines of one event: the text whose digest is kept, and their sums.</summary>
    /// <param name="lines">The lines.</param>
    /// <param name="text">Where the text goes; empty where there are no lines.</param>
    /// <param name="sums">Where the sums go.</param>
    internal static void Read(ImmutableArray<BookLine> lines, Utf8Text text, List<(int Account, int Movement, long Cents)> sums)
    {
        text.Clear();
        sums.Clear();
        foreach (ref readonly var line in lines.AsSpan())
        {
            Add(sums, (int)line.Account, (int)line.Movement, line.Amount.Cents);
            text.Number((int)line.Account).Sign(' ').Number((int)line.Movement).Sign(' ').Words(line.Authority).Sign(' ').Day(line.On).Sign(' ').Number(line.Amount.Cents);
            if (line.Spread is { } period) { text.Sign(' ').Day(period.From).Sign(' ').Day(period.To); }
            text.Sign('\n');
        }
    }

    /// <summary>An event has few sums, and its lines come nearly in their order, so their place is looked for from the end.</summary>
    private static void Add(List<(int Account, int Movement, long Cents)> sums, int account, int movement, long cents)
    {
        var place = sums.Count;
        while (place > 0 && IsAfter(sums[place - 1], account, movement)) { place--; }
        if (place > 0 && sums[place - 1].Account == account && sums[place - 1].Movement == movement) { sums[place - 1] = (account, movement, sums[place - 1].Cents + cents); }
        else { sums.Insert(place, (account, movement, cents)); }

        static bool IsAfter((int Account, int Movement, long Cents) sum, int account, int movement) =>
            sum.Account > account || (sum.Account == account && sum.Movement > movement);
    }

    /// <summary>An account and a reason in words, such as <c>unapplied-credit settled</c>.</summary>
    public static string Words(int account, int movement) =>
        Enum.IsDefined((BookAccount)account) && Enum.IsDefined((Movement)movement)
            ? $"{(BookAccount)account} {((Movement)movement).Word()}"
            : string.Create(CultureInfo.InvariantCulture, $"account {account} reason {movement}");
}
