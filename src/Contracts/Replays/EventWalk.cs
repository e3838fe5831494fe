using System.Collections.Immutable;
using Contracts.Agreements;
using Contracts.Books;
using Contracts.Disclosures;
using Contracts.History;
using NodaTime;

namespace Contracts.Replays;

/// <summary>What stands after an event was recorded.</summary>
/// <param name="Event">The event; null in the last step, which is the day of the question.</param>
/// <param name="State">The account as known then, at the end of the last day that was told then; null while nothing is signed by that day.</param>
/// <param name="Figures">Its figures.</param>
/// <param name="Lines">What the event adds to the books.</param>
public sealed record WalkStep(Recorded? Event, AccountState? State, Account? Figures, ImmutableArray<BookLine> Lines);

/// <summary>
/// Walks a contract event by event in the order of recording: after each, the account as it was known then and the lines it
/// added to the books. The account is looked at on the latest day any event was about until then, so that an event that was
/// recorded late shows what it moves on the day its reader stood.
/// </summary>
/// <remarks>
/// Events that follow each other day by day are lived in one fold; only what reaches back is lived anew. A step's
/// <see cref="WalkStep.State"/> is good until the next step is asked for.
/// </remarks>
public static class EventWalk
{
    /// <summary>The steps of a contract, and one more for the day of the question.</summary>
    /// <param name="history">What is known of the contract.</param>
    /// <param name="reference">Rates and law packs as they became known.</param>
    /// <param name="today">The day of the last step, which no event made; null for none.</param>
    /// <exception cref="ImpossibleHistoryException">No accepted commands can have made this history.</exception>
    public static IEnumerable<WalkStep> Of(ContractHistory history, KnownReference reference, LocalDate? today)
    {
        LiveBooks? live = null;
        var before = ContractHistory.Unsigned(history.Contract);
        foreach (var after in history.AsItGrew())
        {
            var entry = after.EntriesSeen[^1];
            var rates = reference.Through(entry.Sequence);
            (live, var lines) = LiveBooks.Add(live, before, after, rates);
            var state = live is null ? AccountFold.At(after, rates, Postings.PostedThrough(after)) : live.State;
            yield return new WalkStep(entry, state, state is null ? null : Account.Of(state, entry.At), lines);
            before = after;
        }

        if (today is not { } day || before.EntriesSeen.IsEmpty) { yield break; }
        var last = live?.OnLater(day, reference.Last) ?? AccountFold.At(history, reference.Last, day);
        yield return new WalkStep(null, last, last is null ? null : Account.Of(last, before.EntriesSeen[^1].At), []);
    }
}
