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

    /// <summary>What stands against a charge but its tax; a refund to recover is owed back and no receipt.</summary>
    private static readonly BookAccount[] Charges =
    [
        BookAccount.DeferredRent, BookAccount.DeferredPlan, BookAccount.LateFees, BookAccount.ReturnedPaymentFees,
        BookAccount.InstrumentSales, BookAccount.AccessorySales, BookAccount.LossCharges,
    ];

    public static ImmutableArray<Check> Of(MonthEndFigures month)
    {
        var (totals, portfolio) = (month.Totals, month.Portfolio);
        var balances = totals.Balances(_ => true);
        var dollars = Sum(balances, account => account < BookAccount.EquityHeld);
        var memo = Sum(balances, account => account >= BookAccount.EquityHeld);
        var owed = Receivables.Aggregate(Money.Zero, (sum, account) => sum + totals.Closing(account));
        return
        [
            Same("Debits equal credits, dollars and memo apart", dollars, Money.Zero, memo == Money.Zero),
            Billed(portfolio),
            FoldsAgree(month),
            Same("Receivables are what the accounts show as past due", owed, Figure(portfolio, "past due")),
            Same("The ageing adds up to the receivables", owed, Aged(portfolio)),
            Same("Unapplied credit is what the accounts show", Owed(totals, BookAccount.UnappliedCredit), Figure(portfolio, "unapplied credit")),
            Same("Goodwill credit is what the accounts show", Owed(totals, BookAccount.GoodwillCredit), Figure(portfolio, "goodwill credit")),
            Same("Merchandise credit is what the accounts show", Owed(totals, BookAccount.MerchandiseCredit), Figure(portfolio, "merchandise credit")),
            Same("Written off is what the accounts show", Owed(totals, BookAccount.ReceivablesWrittenOff), Figure(portfolio, "written off")),
            Same("Rental equity held is the usable equity of the accounts", totals.Closing(BookAccount.EquityHeld), Figure(portfolio, "equity")),
            Same("Accumulated depreciation is what the fleet asks for", Owed(totals, BookAccount.AccumulatedDepreciation), month.Fleet.BookMonth(totals.Month).Closing),
            Same("Nothing was booked into a closed month", month.ClosedDiffers, Money.Zero),
            .. month.Form >= PacketForm.WithTaxAndComparison ? [TaxAgrees(month), ReceiptsAgree(month)] : Array.Empty<Check>(),
        ];
    }

    private static Check Billed(PortfolioMonth portfolio) => new(
        "Everything that fell due is recorded", portfolio.Unbilled == 0,
        $"{portfolio.Unbilled} of {portfolio.Contracts} contracts have something to bill");

    private static Check FoldsAgree(MonthEndFigures month)
    {
        var posted = month.Totals.Balances(IsOfContracts);
        var folded = month.Portfolio.Folded;
        var apart = 0;
        var first = "";
        foreach (var key in posted.Keys.Union(folded.Keys))
        {
            var (ours, theirs) = (posted.GetValueOrDefault(key), folded.GetValueOrDefault(key));
            if (ours == theirs) { continue; }
            apart++;
            if (first.Length == 0) { first = $"; {key.Account} {key.Authority} {ours} posted, {theirs} folded"; }
        }

        return new Check("The postings add up to every account folded anew", apart == 0, $"{apart} accounts differ{first}");
    }

    /// <summary>
    /// What sales tax payable moved by in the month, against the charges and costs that bore it: by authority and by reason. No
    /// rate is multiplied with a sum, since each tax was rounded by itself.
    /// </summary>
    private static Check TaxAgrees(MonthEndFigures month)
    {
        var posted = new Dictionary<(string Authority, Movement Movement), Money>();
        foreach (var total in month.Totals.During.Where(total => total.Account == BookAccount.SalesTaxPayable))
        {
            var key = (total.Authority, total.Movement);
            posted[key] = posted.GetValueOrDefault(key) - total.Amount;
        }

        var charged = month.Portfolio.Taxes.Taxes;
        var apart = posted.Keys.Union(charged.Keys).Where(key => posted.GetValueOrDefault(key) != charged.GetValueOrDefault(key))
            .OrderBy(key => key.Authority, StringComparer.Ordinal).ThenBy(key => key.Movement).ToList();
        var detail = $"{posted.Values.Aggregate(Money.Zero, (sum, tax) => sum + tax)}";
        if (apart.Count > 0)
        {
            var (first, ours, theirs) = (apart[0], posted.GetValueOrDefault(apart[0]), charged.GetValueOrDefault(apart[0]));
            detail = $"{apart.Count} sums differ; {first.Authority} {first.Movement.Word()} {ours} posted, {theirs} on the charges";
        }

        return new Check("Net tax by authority is what sales tax payable moved by", apart.Count == 0, detail);
    }

    /// <summary>Everything charged in the month is a receipt of some kind, taxed or not: nothing is missing from a return.</summary>
    private static Check ReceiptsAgree(MonthEndFigures month)
    {
        var charged = Charges.Aggregate(Money.Zero, (sum, account) =>
            sum - month.Totals.Moved(account, Movement.Charged) - month.Totals.Moved(account, Movement.ChargeReversed));
        var receipts = month.Portfolio.Taxes.Receipts
            .Where(line => line.Kind is not (ReceiptKind.RentsAtDelivery or ReceiptKind.Cost))
            .Aggregate(Money.Zero, (sum, line) => sum + line.Sum.NetTaxed + line.Sum.Untaxed);
        return Same("Receipts, taxed and not, are what was charged", charged, receipts);
    }

    /// <summary>Depreciation, and what of it left with units, is posted by the close and by no contract.</summary>
    private static bool IsOfContracts(AccountTotal total) => total.Movement is not (Movement.Depreciated or Movement.Disposed);

    private static Check Same(string name, Money left, Money right, bool also = true) =>
        new(name, left == right && also, left == right ? $"{left}" : $"{left} and {right}, a difference of {left - right}");

    private static Money Sum(IReadOnlyDictionary<(BookAccount Account, string Authority), Money> balances, Func<BookAccount, bool> which) =>
        balances.Where(pair => which(pair.Key.Account)).Aggregate(Money.Zero, (sum, pair) => sum + pair.Value);

    private static Money Owed(MonthTotals totals, BookAccount account) => Money.Zero - totals.Closing(account);

    private static Money Figure(PortfolioMonth portfolio, string name) => portfolio.Figures.GetValueOrDefault(name);

    private static Money Aged(PortfolioMonth portfolio) =>
        portfolio.Ageing.Values.SelectMany(buckets => buckets).Aggregate(Money.Zero, (sum, amount) => sum + amount);
}
