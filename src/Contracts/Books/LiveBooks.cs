using System.Collections.Immutable;
using Contracts.History;
using Contracts.Terms;
using NodaTime;

namespace Contracts.Books;

/// <summary>
/// The books of one contract as far as they are posted, kept so that the next event goes on from there: most events are
/// about a day after all that is posted, and only their own days have to be lived. Whatever reaches back starts anew,
/// so the lines are always those of <see cref="Postings"/>. Not for two threads at once.
/// </summary>
public sealed class LiveBooks
{
    private readonly AccountFold fold;
    private readonly BookKeeper keeper;
    private readonly ReferenceData rates;
    private ContractHistory history;
    private LocalDate posted;

    private LiveBooks(AccountFold fold, BookKeeper keeper, ContractHistory history, ReferenceData rates, LocalDate posted)
    {
        this.posted = posted;
        this.fold = fold;
        this.keeper = keeper;
        this.history = history;
        this.rates = rates;
    }

    /// <summary>The account at the end of the last day that is posted; good until these books go on.</summary>
    internal AccountState State => new(fold);

    /// <summary>
    /// The account at the end of a later day by the same rates, lived on from here; null where it has to be lived anew. These books must not be used
    /// again after it.
    /// </summary>
    /// <param name="on">The day.</param>
    /// <param name="by">The rates to live by.</param>
    internal AccountState? OnLater(LocalDate on, ReferenceData by) => on >= posted && ReferenceEquals(rates, by) && fold.GoOn(history, on) ? State : null;

    /// <summary>
    /// The lines that a longer history adds to the books, and the books to go on from next time: those given, or new
    /// ones. What was given must not be used again.
    /// </summary>
    /// <param name="live">The books as they were left, or null.</param>
    /// <param name="before">The history that is posted.</param>
    /// <param name="after">The same and more.</param>
    /// <param name="rates">The rates, which were the same when <paramref name="before"/> was posted.</param>
    public static (LiveBooks? Live, ImmutableArray<BookLine> Lines) Add(LiveBooks? live, ContractHistory before, ContractHistory after, ReferenceData rates)
    {
        // Asked of the whole history only where these books do not know it: a walk asks after every event.
        var isTheirs = live is not null && ReferenceEquals(live.history, before);
        var posted = isTheirs ? live!.posted : Postings.PostedThrough(before);
        var (first, through) = Postings.DaysOf(before, after, posted);
        if (first <= posted && !before.EntriesSeen.IsEmpty)
        {
            var was = Postings.Lines(before, rates, first, posted);
            var (anew, now) = Start(after, rates, first, through);
            return (anew, Postings.Difference(was, now));
        }

        var goesOn = isTheirs && ReferenceEquals(live!.rates, rates);
        if (first > posted && through == posted && !goesOn) { return (null, []); }
        if (goesOn && live!.GoesOn(after, through)) { return (live, live.keeper.TakeLines()); }
        return Start(after, rates, before.EntriesSeen.IsEmpty ? LocalDate.MinIsoValue : posted.PlusDays(1), through);
    }

    private static (LiveBooks? Live, ImmutableArray<BookLine> Lines) Start(ContractHistory history, ReferenceData rates, LocalDate from, LocalDate through)
    {
        BookKeeper? last = null;
        return AccountFold.Lived(history, rates, through, () => last = new BookKeeper(from, rates)) is { } fold
            ? (new LiveBooks(fold, last!, history, rates, through), last!.TakeLines())
            : (null, []);
    }

    private bool GoesOn(ContractHistory longer, LocalDate through)
    {
        (history, posted) = (longer, through);
        return fold.GoOn(longer, through);
    }
}
