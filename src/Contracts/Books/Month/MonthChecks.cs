using System.Collections.Immutable;
using Contracts.Books.Packet;

namespace Contracts.Books.Month;

/// <summary>What must hold before a month is closed. Each figure is made twice, from the postings and from the accounts.</summary>
internal static class MonthChecks
{
    private static readonly BookAccount[] Receivables =
    [
        BookAccount.ReceivableInstallments, BookAccount.ReceivableFees, BookAccount.ReceivableLosses,
        BookAccount.ReceivableSales, BookAccount.RefundsToRecover,
    ];

    public static ImmutableArray<Check> Of(MonthEndFigures month)
    {
        var (totals, portfolio) = (month.Totals, month.Portfolio);
        var balances = totals.Balances();
        var dollars = Sum(balances, account => account < BookAccount.EquityHeld);
        var memo = Sum(balances, account => account >= BookAccount.EquityHeld);
        var owed = Receivables.Aggregate(Money.Zero, (sum, account) => sum + totals.Closing(account));
        return
        [
            Same("Debits equal credits, dollars and memo apart", dollars, Money.Zero, memo == Money.Zero),
            Billed(portfolio),
            FoldsAgree(portfolio, balances),
            Same("Receivables are what the accounts show as past due", owed, Figure(portfolio, "past due")),
            Same("The ageing adds up to the receivables", owed, Aged(portfolio)),
            Same("Unapplied credit is what the accounts show", Owed(totals, BookAccount.UnappliedCredit), Figure(portfolio, "unapplied credit")),
            Same("Goodwill credit is what the accounts show", Owed(totals, BookAccount.GoodwillCredit), Figure(portfolio, "goodwill credit")),
            Same("Merchandise credit is what the accounts show", Owed(totals, BookAccount.MerchandiseCredit), Figure(portfolio, "merchandise credit")),
            Same("Written off is what the accounts show", Owed(totals, BookAccount.ReceivablesWrittenOff), Figure(portfolio, "written off")),
            Same("Rental equity held is the usable equity of the accounts", totals.Closing(BookAccount.EquityHeld), Figure(portfolio, "equity")),
            Same("Accumulated depreciation is what the fleet asks for", Owed(totals, BookAccount.AccumulatedDepreciation), month.Fleet.BookMonth(totals.Month).Closing),
            Same("Nothing was booked into a closed month", month.ClosedDiffers, Money.Zero),
        ];
    }

    private static Check Billed(PortfolioMonth portfolio) => new(
        "Everything that fell due is recorded", portfolio.Unbilled == 0,
        $"{portfolio.Unbilled} of {portfolio.Contracts} contracts have something to bill");

    private static Check FoldsAgree(PortfolioMonth portfolio, IReadOnlyDictionary<(BookAccount Account, string Authority), Money> balances)
    {
        var apart = 0;
        var first = "";
        foreach (var key in balances.Keys.Union(portfolio.Folded.Keys))
        {
            if (IsOfTheBooksAlone(key.Account)) { continue; }
            var (posted, folded) = (balances.GetValueOrDefault(key), portfolio.Folded.GetValueOrDefault(key));
            if (posted == folded) { continue; }
            apart++;
            if (first.Length == 0) { first = $"; {key.Account} {key.Authority} {posted} posted, {folded} folded"; }
        }

        return new Check("The postings add up to every account folded anew", apart == 0, $"{apart} accounts differ{first}");
    }

    /// <summary>Depreciation is posted by the close itself, and some of it leaves with the cost of what was sold or lost.</summary>
    private static bool IsOfTheBooksAlone(BookAccount account) => account is BookAccount.AccumulatedDepreciation
        or BookAccount.FleetDepreciation or BookAccount.CostOfInstrumentsSold or BookAccount.UnitsLost;

    private static Check Same(string name, Money left, Money right, bool also = true) =>
        new(name, left == right && also, left == right ? $"{left}" : $"{left} and {right}, a difference of {left - right}");

    private static Money Sum(IReadOnlyDictionary<(BookAccount Account, string Authority), Money> balances, Func<BookAccount, bool> which) =>
        balances.Where(pair => which(pair.Key.Account)).Aggregate(Money.Zero, (sum, pair) => sum + pair.Value);

    private static Money Owed(MonthTotals totals, BookAccount account) => Money.Zero - totals.Closing(account);

    private static Money Figure(PortfolioMonth portfolio, string name) => portfolio.Figures.GetValueOrDefault(name);

    private static Money Aged(PortfolioMonth portfolio) =>
        portfolio.Ageing.Values.SelectMany(buckets => buckets).Aggregate(Money.Zero, (sum, amount) => sum + amount);
}
