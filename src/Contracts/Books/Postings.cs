using System.Collections.Immutable;
using Contracts.History;
using Contracts.Terms;
using NodaTime;

namespace Contracts.Books;

/// <summary>The books of one contract, and what one more event adds to them.</summary>
public static class Postings
{
    /// <summary>
    /// The last day through which a contract is posted: the latest day that any of its events, notes included, is about; a
    /// paper that was issued is not counted, for it only looks at a day.
    /// What falls due later is posted by the event that comes then, at the latest by the billing run.
    /// </summary>
    public static LocalDate PostedThrough(ContractHistory history)
    {
        var day = LocalDate.MinIsoValue;
        foreach (var entry in history.EntriesSeen)
        {
            if (entry.Event.TellsItsDay) { day = LocalDate.Max(day, entry.Event.On); }
        }

        return day;
    }

    /// <summary>Every line of a contract from one day through another, as its history and the rates now say.</summary>
    public static IReadOnlyList<BookLine> Lines(ContractHistory history, ReferenceData rates, LocalDate from, LocalDate through)
    {
        BookKeeper? last = null;
        AccountFold.At(history, rates, through, () => last = new BookKeeper(from, rates));
        return last?.Lines() ?? [];
    }

    /// <summary>All lines of a contract through the last day that is posted.</summary>
    public static IReadOnlyList<BookLine> Lines(ContractHistory history, ReferenceData rates) =>
        Lines(history, rates, LocalDate.MinIsoValue, PostedThrough(history));

    /// <summary>
    /// What the events that <paramref name="after"/> has more than <paramref name="before"/> add to the books: the lines
    /// that are new, and those that no longer hold the other way round. Never an edit. Balanced on every day.
    /// </summary>
    /// <remarks>
    /// A fact changes nothing before its own day and a note changes nothing at all, so only the days from the first new
    /// fact on are made again; for the notes of a billing run that are the days after the last one posted.
    /// </remarks>
    public static ImmutableArray<BookLine> Added(ContractHistory before, ContractHistory after, ReferenceData rates) =>
        LiveBooks.Add(null, before, after, rates).Lines;

    /// <summary>The first day that a longer history changes, which notes never do, and the last day it is posted through.</summary>
    /// <param name="before">The history that is posted.</param>
    /// <param name="after">The same and more.</param>
    /// <param name="posted">Through which day the first is posted.</param>
    internal static (LocalDate First, LocalDate Through) DaysOf(ContractHistory before, ContractHistory after, LocalDate posted)
    {
        var (first, through) = (LocalDate.MaxIsoValue, posted);
        foreach (var more in after.EntriesSeen[before.EntriesSeen.Length..])
        {
            var added = more.Event;
            if (added.TellsItsDay) { through = LocalDate.Max(through, added.On); }
            if (!added.IsNote) { first = LocalDate.Min(first, added.On); }
        }

        return (first, through);
    }

    /// <summary>What leads from one set of lines to another: plain lines by their sums, periods one by one.</summary>
    public static ImmutableArray<BookLine> Difference(IReadOnlyList<BookLine> before, IReadOnlyList<BookLine> after)
    {
        var result = ImmutableArray.CreateBuilder<BookLine>();
        var (left, right) = (0, 0);
        while (left < before.Count || right < after.Count)
        {
            var order = left == before.Count ? 1 : right == after.Count ? -1 : Order(before[left], after[right]);
            if (order == 0) { Settle(before[left++], after[right++], result); }
            else if (order < 0) { result.Add(before[left++].Reversed()); }
            else { result.Add(after[right++]); }
        }

        return result.ToImmutable();
    }

    private static void Settle(BookLine before, BookLine after, ImmutableArray<BookLine>.Builder result)
    {
        if (before.Amount != after.Amount) { result.Add(after with { Amount = after.Amount - before.Amount }); }
    }

    // Amounts of plain lines add up; the days of two periods round apart, so their amounts never do.
    private static int Order(BookLine left, BookLine right) =>
        left.Spread is null && right.Spread is null
            ? BookLine.Compare(left with { Amount = Money.Zero }, right with { Amount = Money.Zero })
            : BookLine.Compare(left, right);
}
