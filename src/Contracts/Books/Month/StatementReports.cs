using Contracts.Books.Packet;
using static Contracts.Books.Month.Table;

namespace Contracts.Books.Month;

/// <summary>The trial balance and the programme's part of the income statement and the balance sheet.</summary>
internal static class StatementReports
{
    /// <summary>
    /// Every account around the month and, where the packet compares, what it stood at a year before. The opening is the end of
    /// the month before.
    /// </summary>
    public static Report TrialBalance(MonthEndFigures month, Chart chart, Evidence evidence)
    {
        var compared = month.Totals.Compared;
        var table = new Table(
            "trial-balance", "Trial balance",
            "In US dollars; a balance in debit is positive." + (compared is null ? "" : " A year before: the balance of that day, empty when there were no books."),
            [
                Words("number", "no."), Words("account", "account"), Amount("opening", "opening"), Amount("debits", "debits"),
                Amount("credits", "credits"), Amount("closing", "closing"), .. YearAgo(compared),
            ]);
        Money?[] sum = [Money.Zero, Money.Zero, Money.Zero, Money.Zero, .. compared is null ? [] : new[] { compared.YearAgo.Nothing }];
        foreach (var (account, authority) in Keys(month, chart, memo: false))
        {
            var before = month.Totals.Before.Where(total => total.Account == account && total.Authority == authority).Aggregate(Money.Zero, (all, total) => all + total.Amount);
            var during = month.Totals.During.Where(total => total.Account == account && total.Authority == authority).ToList();
            var debit = during.Aggregate(Money.Zero, (all, total) => all + Money.Max(total.Amount, Money.Zero));
            var credit = during.Aggregate(Money.Zero, (all, total) => all + Money.Max(Money.Zero - total.Amount, Money.Zero));
            Money?[] figures = [before, debit, credit, before + debit - credit, .. compared is null ? [] : new[] { compared.YearAgo.Closing(account, authority) }];
            table.Line(evidence.Of(account, authority), [.. Name(chart, account, authority), .. figures.Select(Cell.Of)]);
            Add(sum, figures);
        }

        return table.Total([Cell.Nothing, Cell.Of("total"), .. sum.Select(Cell.Of)]).Done();
    }

    /// <summary>
    /// Income and expenses of the month and, where the packet compares, of the month before and of the same month a year before:
    /// empty when there were no books, which is not zero.
    /// </summary>
    public static Report Income(MonthEndFigures month, Chart chart, Evidence evidence)
    {
        var (totals, compared) = (month.Totals, month.Totals.Compared);
        Column[] columns = compared is null ? [] : [Amount("monthBefore", "month before"), Amount("yearAgo", "same month a year before")];
        var table = new Table(
            "income-statement", "Income statement of the programme",
            "Extract: the shop's other income and expenses are in its own books."
            + (compared is null ? "" : " Earlier months are as they were booked; empty when there were no books."),
            [
                Words("number", "no."), Words("account", "account"), Amount("month", "month"), .. columns, Amount("year", "year to date"),
                Amount("sinceStart", "since the start"),
            ]);
        Money?[] nothing = [Money.Zero, .. compared is null ? [] : new[] { compared.MonthBefore.Nothing, compared.YearAgo.Nothing }, Money.Zero, Money.Zero];
        Money?[] net = [.. nothing];
        foreach (var type in new[] { AccountType.Income, AccountType.Expense })
        {
            Money?[] sum = [.. nothing];
            foreach (var account in chart.Accounts.Where(account => account.Type == type).Select(account => account.Account))
            {
                Money?[] earlier = compared is null ? [] : [compared.MonthBefore.Moved(account), compared.YearAgo.Moved(account)];
                Money?[] figures = [totals.Moved(account), .. earlier, totals.InYear(account), totals.Closing(account)];
                if (figures.All(figure => figure is null || figure == Money.Zero)) { continue; }
                // Income is shown as it is read: a credit is positive.
                if (type == AccountType.Income) { figures = [.. figures.Select(figure => figure?.Times(-1))]; }
                table.Line(evidence.Of(account), [.. Name(chart, account), .. figures.Select(Cell.Of)]);
                Add(sum, figures);
            }

            table.Subtotal([Cell.Nothing, Cell.Of(type == AccountType.Income ? "income" : "expenses"), .. sum.Select(Cell.Of)]);
            Add(net, [.. type == AccountType.Income ? sum : sum.Select(figure => figure?.Times(-1))]);
        }

        return table.Total([Cell.Nothing, Cell.Of("result of the programme"), .. net.Select(Cell.Of)]).Done();
    }

    /// <summary>
    /// What the programme owns and owes at the end of the month and of the month before and, where the packet compares, a year
    /// before.
    /// </summary>
    public static Report BalanceSheet(MonthEndFigures month, Chart chart, Evidence evidence)
    {
        var (totals, compared) = (month.Totals, month.Totals.Compared);
        var table = new Table(
            "balance-sheet", "Balance sheet of the programme",
            "Extract. Fleet in store is what families brought back less what went out: the shop's purchases stand in its own books. "
            + "Rental equity is no liability and is not here."
            + (compared is null ? "" : " The opening is the end of the month before; empty when there were no books."),
            [Words("number", "no."), Words("account", "account"), Amount("opening", "opening"), Amount("closing", "closing"), .. YearAgo(compared)]);
        Money?[] nothing = compared is null ? [Money.Zero, Money.Zero] : [compared.MonthBefore.Nothing, Money.Zero, compared.YearAgo.Nothing];
        Money?[] net = [.. nothing];
        foreach (var type in new[] { AccountType.Asset, AccountType.Liability })
        {
            var sign = type == AccountType.Asset ? 1 : -1;
            Money?[] sum = [.. nothing];
            foreach (var account in chart.Accounts.Where(account => account.Type == type).Select(account => account.Account))
            {
                Money?[] figures = compared is null
                    ? [totals.Opening(account), totals.Closing(account)]
                    : [compared.MonthBefore.Closing(account), totals.Closing(account), compared.YearAgo.Closing(account)];
                if (figures.All(figure => figure is null || figure == Money.Zero)) { continue; }
                figures = [.. figures.Select(figure => figure?.Times(sign))];
                table.Line(evidence.OfBalance(account), [.. Name(chart, account), .. figures.Select(Cell.Of)]);
                Add(sum, figures);
            }

            table.Subtotal([Cell.Nothing, Cell.Of(type == AccountType.Asset ? "assets" : "liabilities"), .. sum.Select(Cell.Of)]);
            Add(net, [.. sum.Select(figure => figure?.Times(sign))]);
        }

        return table.Total([Cell.Nothing, Cell.Of("assets less liabilities: the result since the start"), .. net.Select(Cell.Of)]).Done();
    }

    private static Column[] YearAgo(Comparison? compared) => compared is null ? [] : [Amount("yearAgo", "a year before")];

    /// <summary>Adds figures to their sums, column by column; a column without figures has no sum either.</summary>
    private static void Add(Money?[] sums, Money?[] figures)
    {
        for (var index = 0; index < sums.Length; index++) { sums[index] += figures[index]; }
    }

    private static IEnumerable<(BookAccount Account, string Authority)> Keys(MonthEndFigures month, Chart chart, bool memo) =>
        month.Totals.Before.Concat(month.Totals.During)
            .Where(total => (chart[total.Account].Type == AccountType.Memo) == memo)
            .Select(total => (total.Account, total.Authority)).Distinct()
            .OrderBy(key => chart[key.Account].Number, StringComparer.Ordinal).ThenBy(key => key.Authority, StringComparer.Ordinal);
}
