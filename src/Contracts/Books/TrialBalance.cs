using System.Collections.Immutable;

namespace Contracts.Books;

/// <summary>One account of a trial balance.</summary>
/// <param name="Account">The account.</param>
/// <param name="Name">Its name in the journal, with the authority where it has one.</param>
/// <param name="Commodity">What it counts.</param>
/// <param name="Balance">Debits less credits.</param>
public sealed record TrialBalanceLine(BookAccount Account, string Name, string Commodity, Money Balance)
{
    public Money Debit => Money.Max(Balance, Money.Zero);

    public Money Credit => Money.Max(Money.Zero - Balance, Money.Zero);
}

/// <summary>The balances of all accounts, by name. Dollars and memo commodities are kept apart and never added up.</summary>
public sealed class TrialBalance
{
    private TrialBalance(ImmutableArray<TrialBalanceLine> accounts, ImmutableArray<TrialBalanceLine> memo)
    {
        Accounts = accounts;
        Memo = memo;
    }

    /// <summary>The dollar accounts with a balance, in the order of their names.</summary>
    public ImmutableArray<TrialBalanceLine> Accounts { get; }

    /// <summary>The memo accounts with a balance.</summary>
    public ImmutableArray<TrialBalanceLine> Memo { get; }

    public Money TotalDebit => Sum(line => line.Debit);

    public Money TotalCredit => Sum(line => line.Credit);

    public static TrialBalance Of(Chart chart, IEnumerable<(BookAccount Account, string Authority, Money Amount)> amounts)
    {
        var sums = new Dictionary<(BookAccount, string), Money>();
        foreach (var (account, authority, amount) in amounts)
        {
            sums[(account, authority)] = sums.GetValueOrDefault((account, authority)) + amount;
        }

        var lines = sums.Where(pair => pair.Value != Money.Zero)
            .Select(pair => new TrialBalanceLine(
                pair.Key.Item1, chart.NameOf(pair.Key.Item1, pair.Key.Item2), chart[pair.Key.Item1].Commodity, pair.Value))
            .GroupBy(line => line.Name, StringComparer.Ordinal)
            .Select(group => group.First() with { Balance = group.Aggregate(Money.Zero, (sum, line) => sum + line.Balance) })
            .OrderBy(line => chart[line.Account].Number, StringComparer.Ordinal).ThenBy(line => line.Name, StringComparer.Ordinal)
            .ToLookup(line => line.Commodity == Chart.Dollars);
        return new TrialBalance([.. lines[true]], [.. lines[false]]);
    }

    private Money Sum(Func<TrialBalanceLine, Money> side) => Accounts.Aggregate(Money.Zero, (sum, line) => sum + side(line));
}
