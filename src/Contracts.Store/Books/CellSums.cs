using System.Runtime.InteropServices;
using Contracts.Books;
using NodaTime;

namespace Contracts.Store.Books;

/// <summary>One cell of the cube, without the day of recording, which is the same for all of a transaction.</summary>
internal readonly record struct Cell(int Account, string Authority, string Shop, LocalDate BookedOn, LocalDate EffectiveOn, LocalDate RecordedOn)
{
    /// <summary>Most cells of a transaction differ by account and day; the words are few and need not be hashed.</summary>
    public override int GetHashCode() => HashCode.Combine(Account, BookedOn, EffectiveOn, RecordedOn);
}

/// <summary>Sums posting sets into cells, periods day by day.</summary>
internal sealed class CellSums
{
    private readonly Dictionary<Cell, long> cells = [];

    public IReadOnlyDictionary<Cell, long> Cells => cells;

    public static CellSums Of(IReadOnlyList<PostingSet> sets)
    {
        var sums = new CellSums();
        foreach (var set in sets) { sums.Add(set); }
        return sums;
    }

    /// <summary>The same sums by month: each day stands as the first of its month.</summary>
    public IReadOnlyDictionary<Cell, long> Months()
    {
        var months = new Dictionary<Cell, long>();
        foreach (var (cell, cents) in cells)
        {
            var month = cell with { BookedOn = First(cell.BookedOn), EffectiveOn = First(cell.EffectiveOn), RecordedOn = First(cell.RecordedOn) };
            CollectionsMarshal.GetValueRefOrAddDefault(months, month, out _) += cents;
        }

        return months;
    }

    public void Add(PostingSet set)
    {
        var recordedOn = set.At.InUtc().Date;
        foreach (var line in set.Lines)
        {
            var code = AccountCode.Of(line);
            foreach (var (day, amount) in line.ByDay())
            {
                Add(new Cell(code, line.Authority, set.Shop, set.BookedOn(day), day, recordedOn), amount.Cents);
            }
        }
    }

    private void Add(Cell cell, long cents)
    {
        if (cents == 0) { return; }
        CollectionsMarshal.GetValueRefOrAddDefault(cells, cell, out _) += cents;
    }

    private static LocalDate First(LocalDate day) => day.PlusDays(1 - day.Day);
}
