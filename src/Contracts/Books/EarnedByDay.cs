namespace Contracts.Books;

/// <summary>
/// The two sides of what a period earns day by day. They are posted together, of the same period and amount, so a sum of
/// the one is the sum of the other turned round: whoever keeps sums needs to keep one of them only.
/// </summary>
public static class EarnedByDay
{
    /// <summary>The accounts that are earned day by day.</summary>
    public static IReadOnlyList<BookAccount> Deferred { get; } = [BookAccount.DeferredRent, BookAccount.DeferredPlan];

    private static readonly BookAccount[] Earned = [.. Deferred.Select(ChargeRules.Earned)];

    /// <summary>Whether a line is the revenue of a period, which the line of the deferred account beside it tells as well.</summary>
    public static bool IsTold(in BookLine line) => line.Movement == Movement.Released && Earned.Contains(line.Account);

    /// <summary>The account that the sum of a deferred account's daily earning stands in turned round; null of any other sum.</summary>
    public static BookAccount? Revenue(BookAccount account, Movement movement) =>
        movement == Movement.Released && Deferred.Contains(account) ? ChargeRules.Earned(account) : null;
}
