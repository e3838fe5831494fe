using Contracts.History;
using Contracts.Terms;
using NodaTime;

namespace Contracts.Books;

/// <summary>The close of an earlier month: through which day its books went, and what it knew.</summary>
/// <param name="Through">The last day of its month.</param>
/// <param name="ThroughSequence">The last event that it counts.</param>
public sealed record EarlierClose(LocalDate Through, long ThroughSequence)
{
    /// <summary>
    /// What was booked of some moves since the close, by booking day: all that came after its month, and of the days before
    /// it what is known now less what the close knew.
    /// </summary>
    /// <param name="history">The contract as it is known now.</param>
    /// <param name="rates">
    /// The rates known now: those of days before a close do not change after it, since a new one begins after its recording date (M29).
    /// </param>
    /// <param name="moves">All moves of the contract, as known now.</param>
    internal IReadOnlyList<TaxMove> Since(ContractHistory history, ReferenceData rates, IReadOnlyList<TaxMove> moves)
    {
        // A fact changes nothing before its own day, and a note changes nothing at all.
        var isLate = false;
        foreach (var fact in history.Facts) { isLate = isLate || (fact.Sequence > ThroughSequence && fact.Event.On <= Through); }
        if (!isLate) { return [.. moves.Where(move => move.On > Through)]; }
        var then = BookedAccount.At(history.ThroughSequence(ThroughSequence), rates, Through);
        return then is null ? moves : [.. moves, .. then.TaxMoves.Select(move => move.Undone())];
    }
}
