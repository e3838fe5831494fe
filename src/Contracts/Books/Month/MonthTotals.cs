using System.Collections.Immutable;
using NodaTime;

namespace Contracts.Books.Month;

/// <summary>What an account moved for one reason, and under one authority where it has them.</summary>
public readonly record struct AccountTotal(BookAccount Account, Movement Movement, string Authority, Money Amount);

/// <summary>The books of an earlier month, by booking day and as known at the same moment as the month they stand beside.</summary>
/// <param name="Through">All movements booked by its end; none when the books did not exist then.</param>
/// <param name="During">Those booked in it.</param>
public sealed record EarlierMonth(ImmutableArray<AccountTotal> Through, ImmutableArray<AccountTotal> During)
{
    /// <summary>Zero, or null when the books did not exist then: what a sum over no account is.</summary>
    public Money? Nothing => Through.IsEmpty ? null : Money.Zero;

    /// <summary>What an account moved in the month, or null when the books did not exist then: that is no figure, and not zero.</summary>
    public Money? Moved(BookAccount account) => Through.IsEmpty ? null : Sum(During, account, null);

    /// <summary>What an account stood at, under one authority or all, when the month had passed; null when the books did not exist.</summary>
    public Money? Closing(BookAccount account, string? authority = null) => Through.IsEmpty ? null : Sum(Through, account, authority);

    private static Money Sum(ImmutableArray<AccountTotal> totals, BookAccount account, string? authority)
    {
        var sum = Money.Zero;
        foreach (var total in totals)
        {
            if (total.Account == account && (authority is null || total.Authority == authority)) { sum += total.Amount; }
        }

        return sum;
    }
}

/// <summary>The months that a month is read against.</summary>
/// <param name="MonthBefore">The month before it.</param>
/// <param name="YearAgo">The same month a year before.</param>
public sealed record Comparison(EarlierMonth MonthBefore, EarlierMonth YearAgo);

/// <summary>The books around a month: before it, in it, and since the year began.</summary>
/// <param name="Month">The month.</param>
/// <param name="Before">All movements booked before the month.</param>
/// <param name="During">Those booked in it.</param>
/// <param name="YearBefore">Those booked in its calendar year and before it.</param>
public sealed record MonthTotals(
    YearMonth Month, ImmutableArray<AccountTotal> Before, ImmutableArray<AccountTotal> During, ImmutableArray<AccountTotal> YearBefore)
{
    /// <summary>The months it is read against, or null in a packet of the first form, which had none.</summary>
    public Comparison? Compared { get; init; }

    /// <summary>The first day of the month.</summary>
    public LocalDate First => Month.OnDayOfMonth(1);

    /// <summary>The last day of the month.</summary>
    public LocalDate Last => First.PlusMonths(1).PlusDays(-1);

    /// <summary>What an account stood at before the month; debits are positive.</summary>
    public Money Opening(BookAccount account) => Sum(Before, account, null);

    /// <summary>What it stands at when the month has passed.</summary>
    public Money Closing(BookAccount account) => Opening(account) + Moved(account);

    /// <summary>What it moved in the month, for one reason or for all.</summary>
    public Money Moved(BookAccount account, Movement? movement = null) => Sum(During, account, movement);

    /// <summary>What it moved since the year began, the month included.</summary>
    public Money InYear(BookAccount account) => Sum(YearBefore, account, null) + Moved(account);

    /// <summary>These totals and some more of the month, such as its depreciation.</summary>
    public MonthTotals With(IEnumerable<AccountTotal> more) => this with { During = [.. During, .. more] };

    /// <summary>The balance of every account and authority when the month has passed, of the movements that are wanted.</summary>
    public IReadOnlyDictionary<(BookAccount Account, string Authority), Money> Balances(Func<AccountTotal, bool> wanted)
    {
        var balances = new Dictionary<(BookAccount, string), Money>();
        foreach (var total in Before.Concat(During).Where(wanted))
        {
            var key = (total.Account, total.Authority);
            balances[key] = balances.GetValueOrDefault(key) + total.Amount;
        }

        return balances;
    }

    private static Money Sum(ImmutableArray<AccountTotal> totals, BookAccount account, Movement? movement)
    {
        var sum = Money.Zero;
        foreach (var total in totals)
        {
            if (total.Account == account && (movement is null || total.Movement == movement)) { sum += total.Amount; }
        }

        return sum;
    }
}
