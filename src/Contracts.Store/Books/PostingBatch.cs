using Contracts.Books;
using Contracts.Store.Writing;
using NodaTime;

namespace Contracts.Store.Books;

/// <summary>
/// What one transaction adds to the books, ready to be sent. It is made while the database writes the events; its memory
/// serves one transaction after another.
/// </summary>
internal sealed class PostingBatch
{
    /// <summary>Fewer cells than this are not worth a statement of their own.</summary>
    private const int WorthACopy = 64;

    /// <summary>The posting sets.</summary>
    public CopyBuffer Sets { get; } = new();

    /// <summary>Cells that nobody can have begun: nothing was ever recorded on their days.</summary>
    public CopyBuffer FreshCells { get; } = new();

    /// <summary>Cells that may be there already.</summary>
    public KeyValuePair<Cell, long>[] Cells { get; private set; } = [];

    /// <summary>The same of months.</summary>
    public KeyValuePair<Cell, long>[] Months { get; private set; } = [];

    /// <summary>Begins anew with the sets of a transaction.</summary>
    /// <param name="sets">The sets in order.</param>
    /// <param name="lastRecorded">The last day, of UTC, on which anything was recorded before.</param>
    public PostingBatch Fill(IReadOnlyList<PostingSet> sets, LocalDate lastRecorded)
    {
        Sets.Clear();
        foreach (var set in sets) { Write(Sets, set); }
        var sums = CellSums.Of(sets);
        var cells = sums.Cells();
        // They are in the order of the days of recording, so the fresh ones are the last.
        var fresh = cells.Length;
        while (fresh > 0 && cells[fresh - 1].Key.RecordedOn > lastRecorded) { fresh--; }
        if (cells.Length - fresh < WorthACopy) { fresh = cells.Length; }
        FreshCells.Clear();
        foreach (var (cell, cents) in cells.AsSpan(fresh)) { Write(FreshCells, cell, cents); }
        Cells = cells[..fresh];
        Months = sums.Months();
        return this;
    }

    private static void Write(CopyBuffer copy, in Cell cell, long cents) => copy.Row(7)
        .Number(cell.Account).Words(cell.Authority).Words(cell.Shop).Day(cell.BookedOn).Day(cell.EffectiveOn).Day(cell.RecordedOn).Long(cents);

    private static void Write(CopyBuffer copy, PostingSet set)
    {
        var lines = set.Span();
        copy.Row(12).Long(set.Sequence).Words(set.Stream).Words(set.Shop).Moment(set.At);
        _ = set.OpenFrom is { } open ? copy.Day(open) : copy.Nothing();
        copy.Day(set.Through);
        var (named, spread) = (false, false);
        var array = copy.Open(ArrayMember.Number, lines.Length);
        foreach (ref readonly var line in lines)
        {
            copy.Number(AccountCode.Of(line));
            named |= line.Authority.Length > 0;
            spread |= line.Spread is not null;
        }

        copy.Close(array);
        WriteIf(named, copy, ArrayMember.Words, lines, static (CopyBuffer copy, in BookLine line) => _ = line.Authority.Length > 0 ? copy.Words(line.Authority) : copy.Nothing());
        WriteIf(true, copy, ArrayMember.Day, lines, static (CopyBuffer copy, in BookLine line) => copy.Day(line.On));
        WriteIf(spread, copy, ArrayMember.Day, lines, static (CopyBuffer copy, in BookLine line) => _ = line.Spread is { } period ? copy.Day(period.From) : copy.Nothing());
        WriteIf(spread, copy, ArrayMember.Day, lines, static (CopyBuffer copy, in BookLine line) => _ = line.Spread is { } period ? copy.Day(period.To) : copy.Nothing());
        WriteIf(true, copy, ArrayMember.Long, lines, static (CopyBuffer copy, in BookLine line) => copy.Long(line.Amount.Cents));
    }

    private delegate void WriteOne(CopyBuffer copy, in BookLine line);

    /// <summary>An array with a member for each line; no array at all where no line has anything for it.</summary>
    private static void WriteIf(bool any, CopyBuffer copy, ArrayMember member, ReadOnlySpan<BookLine> lines, WriteOne write)
    {
        if (!any)
        {
            copy.Nothing();
            return;
        }

        var array = copy.Open(member, lines.Length);
        foreach (ref readonly var line in lines) { write(copy, line); }
        copy.Close(array);
    }
}
