using System.Collections.Immutable;
using System.Runtime.InteropServices;
using Contracts.Agreements;
using Contracts.Books;
using NodaTime;

namespace Contracts.Store.Books;

/// <summary>What one command added to the books.</summary>
/// <param name="Sequence">The first event of the command.</param>
/// <param name="Stream">The contract, or a stream of the books themselves.</param>
/// <param name="Shop">The shop whose books these are.</param>
/// <param name="At">The recorded instant.</param>
/// <param name="OpenFrom">The first day that was open when it was recorded, or null while no month had been closed.</param>
/// <param name="Through">The day through which the stream is posted.</param>
/// <param name="Lines">The lines, balanced on every day.</param>
public sealed record PostingSet(
    long Sequence, string Stream, string Shop, Instant At, LocalDate? OpenFrom, LocalDate Through, IReadOnlyList<BookLine> Lines)
{
    /// <summary>The shop of a store that names none.</summary>
    public const string MainShop = ContractEvent.Signed.MainShop;

    /// <summary>The lines where they lie: they are wide, and a list that is asked for one after the other hands out copies.</summary>
    internal ReadOnlySpan<BookLine> Span() => Lines switch
    {
        ImmutableArray<BookLine> array => array.AsSpan(),
        List<BookLine> list => CollectionsMarshal.AsSpan(list),
        BookLine[] array => array,
        _ => Lines.ToArray(),
    };

    /// <summary>The day something effective on a day enters the books: that day, or the first that was open then.</summary>
    public LocalDate BookedOn(LocalDate effective) => OpenFrom is { } open && open > effective ? open : effective;

    /// <summary>What one of its lines moved from one day through another, by the days on which it was booked.</summary>
    public Money Booked(in BookLine line, LocalDate from, LocalDate through)
    {
        if (OpenFrom is not { } open) { return Effective(line, from, through); }

        // All that was late is booked on the first open day, so what was booked by the end of a day is nothing or the whole.
        if (open > through) { return Money.Zero; }
        return open >= from ? line.Through(through) : Effective(line, from, through);
    }

    /// <summary>What a line moved from one day through another, by the days it was about.</summary>
    internal static Money Effective(in BookLine line, LocalDate from, LocalDate through) =>
        from <= line.On ? line.Through(through) : line.Through(through) - line.Through(from.PlusDays(-1));
}

/// <summary>The account and the reason in one number, as rows and cells keep them.</summary>
internal static class AccountCode
{
    public static int Of(in BookLine line) => Of(line.Account, line.Movement);

    public static int Of(BookAccount account, Movement movement) => ((int)account * 100) + (int)movement;

    public static BookAccount Account(int code) => (BookAccount)(code / 100);

    public static Movement Movement(int code) => (Movement)(code % 100);
}
