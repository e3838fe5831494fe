using System.Collections.Immutable;
using System.Globalization;
using System.Text;
using Contracts.Books;

namespace Contracts.Replays;

/// <summary>What an event added to the books in short: a digest of its lines, and their sums by account and reason.</summary>
/// <param name="Digest">Of every line with its day, period and authority; empty where there are no lines.</param>
/// <param name="Sums">By the stored numbers of account and reason, in their order; debits positive, in cents.</param>
public sealed record PostedSums(string Digest, ImmutableArray<(int Account, int Movement, long Cents)> Sums)
{
    /// <summary>The lines of one event.</summary>
    public static PostedSums Of(IReadOnlyList<BookLine> lines)
    {
        if (lines.Count == 0) { return new PostedSums("", []); }
        var sums = new SortedDictionary<(int, int), long>();
        var text = new StringBuilder(lines.Count * 40);
        foreach (var line in lines)
        {
            var key = ((int)line.Account, (int)line.Movement);
            sums[key] = sums.GetValueOrDefault(key) + line.Amount.Cents;
            text.Append(CultureInfo.InvariantCulture, $"{(int)line.Account} {(int)line.Movement} {line.Authority} {Day(line.On)} {line.Amount.Cents}");
            if (line.Spread is { } period) { text.Append(' ').Append(Day(period.From)).Append(' ').Append(Day(period.To)); }
            text.Append('\n');
        }

        return new PostedSums(FigureVector.Short(Encoding.UTF8.GetBytes(text.ToString())), [.. sums.Select(sum => (sum.Key.Item1, sum.Key.Item2, sum.Value))]);

        static int Day(NodaTime.LocalDate day) => (day.Year * 10000) + (day.Month * 100) + day.Day;
    }

    /// <summary>An account and a reason in words, such as <c>unapplied-credit settled</c>.</summary>
    public static string Words(int account, int movement) =>
        Enum.IsDefined((BookAccount)account) && Enum.IsDefined((Movement)movement)
            ? $"{(BookAccount)account} {((Movement)movement).Word()}"
            : string.Create(CultureInfo.InvariantCulture, $"account {account} reason {movement}");
}
