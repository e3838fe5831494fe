using System.Collections.Immutable;
using NodaTime;

namespace Contracts.Books.Month;

/// <summary>What an account moved for one reason, and under one authority where it has them.</summary>
public readonly record struct AccountTotal(BookAccount Account, Movement Movement, string Authority, Money Amount);

/// <summary>The books around a month: before it, in it, and since the year began.</summary>
/// <param name="Month">The month.</param>
/// <param name="Before">All movements booked before the month.</param>
/// <param name="During">Those booked in it.</param>
/// <param name="YearBefore">Those booked in its calendar year and before it.</param>
public sealed record MonthTotals(
    YearMonth Month, ImmutableArray<AccountTotal> Before, ImmutableArray<AccountTotal> During, ImmutableArray<AccountTotal> YearBefore)
{
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
