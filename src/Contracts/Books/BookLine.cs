using NodaTime;

namespace Contracts.Books;

/// <summary>One line of a posting: an account moves on a day, or evenly over a period from a day on.</summary>
/// <param name="Account">The account.</param>
/// <param name="Movement">Why it moves.</param>
/// <param name="Authority">The tax authority; empty on every account but sales tax payable.</param>
/// <param name="On">The effective day; of a spread line the first day that counts.</param>
/// <param name="Spread">The period over which the amount is earned, or null when all of it moves on the day.</param>
/// <param name="Amount">Debits are positive, credits negative. Of a spread line the amount of its whole period.</param>
public readonly record struct BookLine(
    BookAccount Account, Movement Movement, string Authority, LocalDate On, Spread? Spread, Money Amount)
{
    /// <summary>
    /// What the line has moved by the end of a day. A spread line that begins inside its period takes the rest of it:
    /// that is how the rest of an earlier line is taken back.
    /// </summary>
    public Money Through(LocalDate day)
    {
        if (day < On) { return Money.Zero; }
        return Spread is { } spread
            ? spread.Through(Amount, day) - spread.Through(Amount, On.PlusDays(-1))
            : Amount;
    }

    /// <summary>The last day on which the line moves anything.</summary>
    public LocalDate Last => Spread is { } spread ? spread.To.PlusDays(-1) : On;

    /// <summary>What the line moves day by day: its one day, or each day of its period from its own on.</summary>
    public IEnumerable<(LocalDate Day, Money Amount)> ByDay()
    {
        if (Spread is null)
        {
            yield return (On, Amount);
            yield break;
        }

        var day = On;
        foreach (var cents in CentsByDay().ToArray())
        {
            if (cents != 0) { yield return (day, new Money(cents)); }
            day = day.PlusDays(1);
        }
    }

    /// <summary>What a spread line moves on each day from its own on, in cents, days without any included; nothing of a plain line.</summary>
    public ReadOnlySpan<long> CentsByDay()
    {
        if (Spread is not { } spread) { return []; }
        var shares = spread.CentsByDay(Amount);
        return shares.AsSpan(Math.Min(shares.Length, Period.DaysBetween(spread.From, On)));
    }

    /// <summary>The same line the other way round.</summary>
    public BookLine Reversed() => this with { Amount = Money.Zero - Amount };

    /// <summary>Day, account, reason, authority, period, amount: an order that any machine finds again.</summary>
    public static int Compare(BookLine left, BookLine right)
    {
        var order = ComparePlace(left, right);
        return order == 0 ? left.Amount.CompareTo(right.Amount) : order;
    }

    /// <summary>The same order without the amount.</summary>
    /// <remarks>
    /// Every line of every posting is put in its place by it, so nothing is boxed, as an enumeration's own comparison does; and most lines compared
    /// are of one day, which is seen at a glance where the order of two days has to be asked of a calendar.
    /// </remarks>
    internal static int ComparePlace(in BookLine left, in BookLine right)
    {
        if (left.On != right.On) { return left.On.CompareTo(right.On); }
        if (left.Account != right.Account) { return ((int)left.Account).CompareTo((int)right.Account); }
        if (left.Movement != right.Movement) { return ((int)left.Movement).CompareTo((int)right.Movement); }
        var order = string.CompareOrdinal(left.Authority, right.Authority);
        if (order != 0 || left.Spread == right.Spread) { return order; }
        order = Start(left).CompareTo(Start(right));
        return order == 0 ? End(left).CompareTo(End(right)) : order;
    }

    private static LocalDate Start(BookLine line) => line.Spread?.From ?? LocalDate.MinIsoValue;

    private static LocalDate End(BookLine line) => line.Spread?.To ?? LocalDate.MinIsoValue;
}
