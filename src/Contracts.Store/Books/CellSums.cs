using System.Runtime.InteropServices;
using Contracts.Books;
using NodaTime;

namespace Contracts.Store.Books;

/// <summary>One cell of the cube.</summary>
internal readonly record struct Cell(int Account, string Authority, string Shop, LocalDate BookedOn, LocalDate EffectiveOn, LocalDate RecordedOn)
{
    /// <summary>Most cells differ by account and day; the words are few and need not be hashed.</summary>
    public override int GetHashCode() => HashCode.Combine(Account, BookedOn, EffectiveOn, RecordedOn);

    /// <summary>
    /// The order in which cells are written: days of recording and of the books first, as in the key, so that neighbours
    /// there are neighbours on the page.
    /// </summary>
    public static int Compare(in Cell left, in Cell right)
    {
        var order = left.RecordedOn == right.RecordedOn ? 0 : left.RecordedOn.CompareTo(right.RecordedOn);
        if (order == 0 && left.BookedOn != right.BookedOn) { order = left.BookedOn.CompareTo(right.BookedOn); }
        if (order == 0) { order = left.Account.CompareTo(right.Account); }
        if (order == 0) { order = string.CompareOrdinal(left.Authority, right.Authority); }
        if (order == 0) { order = string.CompareOrdinal(left.Shop, right.Shop); }
        return order == 0 ? left.EffectiveOn.CompareTo(right.EffectiveOn) : order;
    }
}

/// <summary>
/// Sums posting sets into cells, periods day by day and one side of them only (<see cref="EarnedByDay"/>). A month of one
/// account is a strip of days, so that the days of a period are added up in a row: a table asked once for each of them
/// took a third of a load's time.
/// </summary>
internal sealed class CellSums
{
    private const int LongestMonth = 31;

    private readonly Dictionary<Strip, long[]> strips = [];

    private readonly record struct Strip(int Account, string Authority, string Shop, LocalDate RecordedOn, LocalDate? OpenFrom, LocalDate Month)
    {
        public override int GetHashCode() => HashCode.Combine(Account, RecordedOn, Month);

        /// <summary>The day of the books: that day, or the first that was open then.</summary>
        public Cell On(LocalDate day) => new(Account, Authority, Shop, OpenFrom is { } open && open > day ? open : day, day, RecordedOn);

        /// <summary>The month's cell: each of its days stands as the first of a month.</summary>
        public Cell Whole() => new(Account, Authority, Shop, OpenFrom is { } open && First(open) > Month ? First(open) : Month, Month, First(RecordedOn));
    }

    public static CellSums Of(IReadOnlyList<PostingSet> sets)
    {
        var sums = new CellSums();
        foreach (var set in sets) { sums.Add(set); }
        return sums;
    }

    public void Add(PostingSet set)
    {
        var recordedOn = set.At.InUtc().Date;
        foreach (ref readonly var line in set.Span())
        {
            if (EarnedByDay.IsTold(line)) { continue; }
            var strip = new Strip(AccountCode.Of(line), line.Authority, set.Shop, recordedOn, set.OpenFrom, First(line.On));
            if (line.Spread is null) { Days(strip)[line.On.Day - 1] += line.Amount.Cents; }
            else { Add(strip, line.On, line.CentsByDay()); }
        }
    }

    /// <summary>The sums that are not zero, by day, in their order.</summary>
    public KeyValuePair<Cell, long>[] Cells()
    {
        var cells = new List<KeyValuePair<Cell, long>>();
        foreach (var (strip, days) in strips)
        {
            for (var index = 0; index < days.Length; index++)
            {
                if (days[index] != 0) { cells.Add(new(strip.On(strip.Month.PlusDays(index)), days[index])); }
            }
        }

        return InOrder(cells);
    }

    /// <summary>The same by month.</summary>
    public KeyValuePair<Cell, long>[] Months() => InOrder([.. strips.Select(strip => new KeyValuePair<Cell, long>(strip.Key.Whole(), strip.Value.Sum()))]);

    /// <summary>What a period earns from a day on, of which the strip is the month.</summary>
    private void Add(Strip strip, LocalDate from, ReadOnlySpan<long> shares)
    {
        for (var first = from.Day - 1; !shares.IsEmpty; first = 0)
        {
            var days = Days(strip);
            var here = Math.Min(shares.Length, strip.Month.Calendar.GetDaysInMonth(strip.Month.Year, strip.Month.Month) - first);
            for (var index = 0; index < here; index++) { days[first + index] += shares[index]; }
            shares = shares[here..];
            strip = strip with { Month = strip.Month.PlusMonths(1) };
        }
    }

    private long[] Days(in Strip strip) => CollectionsMarshal.GetValueRefOrAddDefault(strips, strip, out _) ??= new long[LongestMonth];

    /// <summary>In order, without zeros. Several strips may add to one cell: days of recording to a month's, and closings to any.</summary>
    private static KeyValuePair<Cell, long>[] InOrder(List<KeyValuePair<Cell, long>> cells)
    {
        var sorted = CollectionsMarshal.AsSpan(cells);
        sorted.Sort(static (left, right) => Cell.Compare(left.Key, right.Key));
        var kept = 0;
        for (var index = 0; index < sorted.Length;)
        {
            var (cell, sum) = sorted[index];
            while (++index < sorted.Length && sorted[index].Key == cell) { sum += sorted[index].Value; }
            if (sum != 0) { sorted[kept++] = new(cell, sum); }
        }

        return sorted[..kept].ToArray();
    }

    private static LocalDate First(LocalDate day) => day.PlusDays(1 - day.Day);
}
