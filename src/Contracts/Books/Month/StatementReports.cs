using Contracts.Books.Packet;
using static Contracts.Books.Month.Table;

namespace Contracts.Books.Month;

/// <summary>The trial balance and the programme's part of the income statement and the balance sheet.</summary>
internal static class StatementReports
{
    public static Report TrialBalance(MonthEndFigures month, Chart chart, Evidence evidence)
    {
        var table = new Table(
            "trial-balance", "Trial balance", "In US dollars; a balance in debit is positive.",
            Words("number", "no."), Words("account", "account"), Amount("opening", "opening"),
            Amount("debits", "debits"), Amount("credits", "credits"), Amount("closing", "closing"));
        var (opening, debits, credits, closing) = (Money.Zero, Money.Zero, Money.Zero, Money.Zero);
        foreach (var (account, authority) in Keys(month, chart, memo: false))
        {
            var before = month.Totals.Before.Where(total => total.Account == account && total.Authority == authority).Aggregate(Money.Zero, (sum, total) => sum + total.Amount);
            var during = month.Totals.During.Where(total => total.Account == account && total.Authority == authority).ToList();
            var debit = during.Aggregate(Money.Zero, (sum, total) => sum + Money.Max(total.Amount, Money.Zero));
            var credit = during.Aggregate(Money.Zero, (sum, total) => sum + Money.Max(Money.Zero - total.Amount, Money.Zero));
            table.Line(
                evidence.Of(account, authority),
                [.. Name(chart, account, authority), Cell.Of(before), Cell.Of(debit), Cell.Of(credit), Cell.Of(before + debit - credit)]);
            (opening, debits, credits, closing) = (opening + before, debits + debit, credits + credit, closing + before + debit - credit);
        }

        return table.Total(Cell.Nothing, Cell.Of("total"), Cell.Of(opening), Cell.Of(debits), Cell.Of(credits), Cell.Of(closing)).Done();
    }

    public static Report Income(MonthEndFigures month, Chart chart, Evidence evidence)
    {
        var table = new Table(
            "income-statement", "Income statement of the programme", "Extract: the shop's other income and expenses are in its own books.",
            Words("number", "no."), Words("account", "account"), Amount("month", "month"), Amount("year", "year to date"), Amount("sinceStart", "since the start"));
        var net = new Money[3];
        foreach (var type in new[] { AccountType.Income, AccountType.Expense })
        {
            var sum = new Money[3];
            foreach (var account in chart.Accounts.Where(account => account.Type == type))
            {
                Money[] figures = [month.Totals.Moved(account.Account), month.Totals.InYear(account.Account), month.Totals.Closing(account.Account)];
                if (figures.All(figure => figure == Money.Zero)) { continue; }
                // Income is shown as it is read: a credit is positive.
                if (type == AccountType.Income) { figures = [.. figures.Select(figure => Money.Zero - figure)]; }
                table.Line(evidence.Of(account.Account), [.. Name(chart, account.Account), .. figures.Select(Cell.Of)]);
                for (var index = 0; index < 3; index++) { sum[index] += figures[index]; }
            }

            table.Subtotal([Cell.Nothing, Cell.Of(type == AccountType.Income ? "income" : "expenses"), .. sum.Select(Cell.Of)]);
            for (var index = 0; index < 3; index++) { net[index] = type == AccountType.Income ? sum[index] : net[index] - sum[index]; }
        }

        return table.Total([Cell.Nothing, Cell.Of("result of the programme"), .. net.Select(Cell.Of)]).Done();
    }

    public static Report BalanceSheet(MonthEndFigures month, Chart chart, Evidence evidence)
    {
        var table = new Table(
            "balance-sheet", "Balance sheet of the programme",
            "Extract. Fleet in store is what families brought back less what went out: the shop's purchases stand in its own books. "
            + "Rental equity is no liability and is not here.",
            Words("number", "no."), Words("account", "account"), Amount("opening", "opening"), Amount("closing", "closing"));
        var (opening, closing) = (Money.Zero, Money.Zero);
        foreach (var type in new[] { AccountType.Asset, AccountType.Liability })
        {
            var sign = type == AccountType.Asset ? 1 : -1;
            var (before, after) = (Money.Zero, Money.Zero);
            foreach (var account in chart.Accounts.Where(account => account.Type == type))
            {
                var (was, now) = (month.Totals.Opening(account.Account).Times(sign), month.Totals.Closing(account.Account).Times(sign));
                if (was == Money.Zero && now == Money.Zero) { continue; }
                table.Line(evidence.OfBalance(account.Account), [.. Name(chart, account.Account), Cell.Of(was), Cell.Of(now)]);
                (before, after) = (before + was, after + now);
            }

            table.Subtotal(Cell.Nothing, Cell.Of(type == AccountType.Asset ? "assets" : "liabilities"), Cell.Of(before), Cell.Of(after));
            (opening, closing) = (opening + before.Times(sign), closing + after.Times(sign));
        }

        return table.Total(Cell.Nothing, Cell.Of("assets less liabilities: the result since the start"), Cell.Of(opening), Cell.Of(closing)).Done();
    }

    private static IEnumerable<(BookAccount Account, string Authority)> Keys(MonthEndFigures month, Chart chart, bool memo) =>
        month.Totals.Before.Concat(month.Totals.During)
            .Where(total => (chart[total.Account].Type == AccountType.Memo) == memo)
            .Select(total => (total.Account, total.Authority)).Distinct()
            .OrderBy(key => chart[key.Account].Number, StringComparer.Ordinal).ThenBy(key => key.Authority, StringComparer.Ordinal);
}
