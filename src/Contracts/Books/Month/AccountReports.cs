using Contracts.Books.Packet;
using NodaTime.Text;
using static Contracts.Books.Month.Table;

namespace Contracts.Books.Month;

/// <summary>What comes from the accounts one by one: the ageing, the money, the contracts, and what months before left over.</summary>
internal static class AccountReports
{
    private static readonly Column[] Ages =
    [
        Amount("current", "current"), Amount("days30", "1-30 days"), Amount("days60", "31-60 days"),
        Amount("days90", "61-90 days"), Amount("older", "over 90 days"), Amount("total", "total"),
    ];

    public static Report Ageing(MonthEndFigures month, Chart chart, Evidence evidence)
    {
        var table = new Table("ageing", "Receivables by age", "Days since the due date, at the end of the month.", [Words("number", "no."), Words("account", "account"), .. Ages]);
        var sum = new Money[PortfolioMonth.Buckets];
        foreach (var (account, buckets) in month.Portfolio.Ageing.OrderBy(pair => chart[pair.Key].Number, StringComparer.Ordinal))
        {
            table.Line(evidence.OfBalance(account), [.. Name(chart, account), .. Row(buckets)]);
            for (var index = 0; index < sum.Length; index++) { sum[index] += buckets[index]; }
        }

        return table.Total([Cell.Nothing, Cell.Of("total"), .. Row(sum)]).Done();
    }

    public static Report Debtors(MonthEndFigures month, Evidence evidence)
    {
        var table = new Table("ageing-by-contract", "Receivables by age and contract", null, [Words("contract", "contract"), .. Ages]);
        foreach (var (contract, buckets) in month.Portfolio.Debtors) { table.Line(evidence.OfContract(contract), [Cell.Of(contract), .. Row(buckets)]); }
        return table.Done();
    }

    public static Report Cash(MonthEndFigures month, Chart chart, Evidence evidence)
    {
        var table = new Table(
            "cash", "Money by account", "What was booked in the month: to be held against the bank, the card processor and the drawer.",
            Words("number", "no."), Words("account", "account"), Amount("opening", "opening"), Amount("received", "received"), Amount("reversed", "reversed"),
            Amount("refunded", "refunded"), Amount("closing", "closing"));
        var totals = month.Totals;
        var sum = new Money[5];
        foreach (var account in chart.Accounts.Where(account => account.Account <= BookAccount.ChecksReceived))
        {
            Money[] figures =
            [
                totals.Opening(account.Account), totals.Moved(account.Account, Movement.Received), totals.Moved(account.Account, Movement.PaymentReversed),
                totals.Moved(account.Account, Movement.Refunded), totals.Closing(account.Account),
            ];
            if (figures.All(figure => figure == Money.Zero)) { continue; }
            table.Line(evidence.Of(account.Account), [.. Name(chart, account.Account), .. figures.Select(Cell.Of)]);
            for (var index = 0; index < sum.Length; index++) { sum[index] += figures[index]; }
        }

        return table.Total([Cell.Nothing, Cell.Of("total"), .. sum.Select(Cell.Of)]).Done();
    }

    public static Report References(MonthEndFigures month)
    {
        var table = new Table(
            "cash-references", "Money by method and bank reference", "By the day of each payment, so an item of a closed month is not among them.",
            Words("method", "method"), Words("reference", "reference"), Words("what", "what"), Number("count", "count"), Amount("amount", "amount"));
        var total = (Count: 0L, Amount: Money.Zero);
        foreach (var (key, (count, amount)) in month.Portfolio.Cash.OrderBy(pair => pair.Key.Method, StringComparer.Ordinal)
            .ThenBy(pair => pair.Key.What, StringComparer.Ordinal).ThenBy(pair => pair.Key.Reference, StringComparer.Ordinal))
        {
            table.Line(null, Cell.Of(key.Method), Cell.Of(key.Reference), Cell.Of(key.What), Cell.Of(count), Cell.Of(amount));
            total = (total.Count + count, total.Amount + amount);
        }

        return table.Total(Cell.Of("total"), Cell.Nothing, Cell.Nothing, Cell.Of(total.Count), Cell.Of(total.Amount)).Done();
    }

    public static Report Counts(MonthEndFigures month)
    {
        var table = new Table("contracts", "Contracts", null, Words("what", "what"), Number("count", "count"));
        foreach (var (status, count) in month.Portfolio.Statuses) { table.Line(null, Cell.Of($"{status} at the end of the month"), Cell.Of(count)); }
        table.Subtotal(Cell.Of("contracts"), Cell.Of(month.Portfolio.Contracts));
        foreach (var (what, count) in month.Portfolio.Events) { table.Line(null, Cell.Of($"{what} in the month"), Cell.Of(count)); }
        return table.Line(null, Cell.Of("units without a cost"), Cell.Of(month.Portfolio.UnitsWithoutCost)).Done();
    }

    public static Report PriorPeriods(MonthEndFigures month, Chart chart, Evidence evidence)
    {
        var table = new Table(
            "prior-periods", "Items of months closed before", "Learned after their month was closed, so booked here; the closed month does not change.",
            Words("contract", "contract"), Number("event", "event"), Words("recordedAt", "recorded"), Words("cause", "cause"),
            Words("month", "of month"), Words("number", "no."), Words("account", "account"), Amount("amount", "amount"));
        foreach (var item in month.PriorItems)
        {
            table.Line(
                evidence.OfPriorPeriods(),
                [
                    Cell.Of(item.Contract), Cell.Of(item.Sequence), Cell.Of(InstantPattern.ExtendedIso.Format(item.RecordedAt)),
                    Cell.Of(item.Cause), Cell.Of(YearMonthPattern.Iso.Format(item.EffectiveIn)), .. Name(chart, item.Account), Cell.Of(item.Amount),
                ]);
        }

        return table.Done();
    }

    private static IEnumerable<Cell> Row(Money[] buckets) =>
        buckets.Select(Cell.Of).Append(Cell.Of(buckets.Aggregate(Money.Zero, (sum, amount) => sum + amount)));
}
