using Contracts.History;
using Contracts.Terms;
using NodaTime;

namespace Contracts.Books;

/// <summary>One account on a day with the books and the unit moves that led there, all from one fold.</summary>
/// <param name="State">The account at the end of the day.</param>
/// <param name="Lines">Every line through the day.</param>
/// <param name="Units">Every move of its units through the day.</param>
/// <param name="TaxMoves">What its charges and units' costs were taxed on: through the day, or what of it was booked since an earlier close.</param>
public sealed record BookedAccount(
    AccountState State, IReadOnlyList<BookLine> Lines, IReadOnlyList<UnitMove> Units, IReadOnlyList<TaxMove> TaxMoves)
{
    /// <summary>The account at the end of a day, or null when the contract was not signed by then.</summary>
    /// <param name="history">What is known of the contract.</param>
    /// <param name="rates">The rates that are known.</param>
    /// <param name="on">The day.</param>
    /// <param name="earlier">The close before, whose books the tax moves are not to repeat; null to have all of them.</param>
    public static BookedAccount? At(ContractHistory history, ReferenceData rates, LocalDate on, EarlierClose? earlier = null)
    {
        BookKeeper? last = null;
        List<TaxMove> moves = [];
        var state = AccountFold.At(history, rates, on, () => last = new BookKeeper(LocalDate.MinIsoValue, rates) { TaxMoves = moves = [] });
        return state is null
            ? null
            : new BookedAccount(state, last!.Lines(), last.UnitMoves, earlier is null ? moves : earlier.Since(history, rates, moves));
    }
}
