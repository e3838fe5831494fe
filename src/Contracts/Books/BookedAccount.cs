using Contracts.History;
using Contracts.Terms;
using NodaTime;

namespace Contracts.Books;

/// <summary>One account on a day with the books and the unit moves that led there, all from one fold.</summary>
/// <param name="State">The account at the end of the day.</param>
/// <param name="Lines">Every line through the day.</param>
/// <param name="Units">Every move of its units through the day.</param>
public sealed record BookedAccount(AccountState State, IReadOnlyList<BookLine> Lines, IReadOnlyList<UnitMove> Units)
{
    /// <summary>The account at the end of a day, or null when the contract was not signed by then.</summary>
    public static BookedAccount? At(ContractHistory history, TaxRates rates, LocalDate on)
    {
        BookKeeper? last = null;
        var state = AccountFold.At(history, rates, on, () => last = new BookKeeper(LocalDate.MinIsoValue, rates));
        return state is null ? null : new BookedAccount(state, last!.Lines(), last.UnitMoves);
    }
}
