using Contracts.Equity;
using Contracts.Law;
using Contracts.Terms;

namespace Contracts.Explain;

/// <summary>The price to own now, its tax and the payoff (M49 to M51, M82).</summary>
internal sealed partial class Explainer
{
    private ExplainNode Price(string figure)
    {
        if (state.HasEnded) { return NothingAfterTheEnd(figure); }
        var shop = ShopPrice();
        var ceilings = Ceilings();
        if (ceilings.Count == 0) { return shop with { Figure = figure, Value = account.EarlyPurchase.Price.ToString() }; }
        var binds = account.EarlyPurchase.Basis != EarlyPurchase.ByTerms;
        return Nodes.Of(
            Combination.Lowest, figure, account.EarlyPurchase.Price, binds ? "the act allows no more than its ceiling" : "the price by the terms is within the ceiling",
            binds ? account.EarlyPurchase.Basis : MoneyRules.Ceilings, [shop, .. ceilings]);
    }

    private ExplainNode ShopPrice()
    {
        var equity = EquityWithPastDue(Current, now);
        var left = InForce.Terms.PurchasePrice - Value(equity);
        var discount = EarlyPurchase.Discount(state);
        var whole = Nodes.Of(
            Combination.Difference, "left to own with past-due rent paid", left, "purchase price less equity", MoneyRules.Price,
            OfTerms(InForce, "purchase price", InForce.Terms.PurchasePrice), equity);
        var share = Nodes.Of(
            Combination.Difference, "share after the discount", discount.Complement.ToString(),
            "the whole less the discount of the first tier that has not ended", MoneyRules.Price,
            Nodes.Leaf("the whole", Rate.Whole, "of the price", MoneyRules.Price, null), OfTerms(InForce, "discount", discount));
        return Nodes.Of(Combination.RoundedProduct, "price by the terms", discount.Complement.Of(left), "what is left to own, less the discount", MoneyRules.Price, whole, share);
    }

    private ExplainNode EquityWithPastDue(int terms, MoneyPicture money)
    {
        var price = trace.Terms[terms].Terms.PurchasePrice;
        var value = Value(Counted(terms, money, pastDuePaid: true)).Within(Money.Zero, price);
        return Equity("equity with past-due rent paid", value, terms, money, pastDuePaid: true);
    }

    private List<ExplainNode> Ceilings()
    {
        if (state.Law is not { } pack) { return []; }
        var standing = EarlyPurchase.Standing(state);
        return [.. pack.Of<LawRule.PurchasePrice>(standing.SignedOn).Select(rule => Ceiling(pack, rule, standing)).OfType<ExplainNode>()];
    }

    private ExplainNode? Ceiling(LawPack pack, LawRule.PurchasePrice rule, PriceStanding standing)
    {
        if (PriceCeilings.Exact(rule, standing) is not { } exact) { return null; }
        var basis = rule.Formula == PriceFormula.CashPrice ? OfTerms(InForce, "cash price", standing.CashPrice) : RentAhead();
        var (times, factor) = Times(rule, standing);
        var start = Fraction.Of(Value(basis)) * times;
        var node = Nodes.Of(Combination.Product, "share of it", Nodes.Dollars(start), "the part that the act leaves to pay", rule.Citation, basis, factor);
        if (rule.LessShareOfPaid != Fraction.Zero)
        {
            var paid = RentPaid();
            var off = rule.LessShareOfPaid * Fraction.Of(standing.RentPaid);
            var less = Nodes.Of(
                Combination.Product, "share of the rent paid", Nodes.Dollars(off), "the act takes it off", rule.Citation,
                paid, Nodes.Leaf("share", Nodes.Text(rule.LessShareOfPaid), "the act says so", rule.Citation, null));
            node = Nodes.Of(Combination.Difference, "less rent paid", Nodes.Dollars(start - off), "what is left to pay by the act", rule.Citation, node, less);
            node = Nodes.Of(Combination.Highest, "not below nothing", Nodes.Dollars(exact), "a ceiling is never below nothing", rule.Citation, Nothing(rule.Citation), node);
        }

        var nearest = pack.RoundsToNearest;
        var price = nearest ? exact.Rounded() : exact.RoundedDown();
        node = Nodes.Of(
            nearest ? Combination.Rounded : Combination.RoundedDown, $"ceiling of {rule.Citation}", price, "the act says no cent; the engine rounds", MoneyRules.Ceilings, node);
        return rule.FloorOfOnePayment
            ? Nodes.Of(
                Combination.Highest, $"ceiling of {rule.Citation}", Money.Max(price, standing.Payment), "never below one payment", rule.Citation,
                OfTerms(InForce, "monthly rent", standing.Payment), node)
            : node;
    }

    private (Fraction Times, ExplainNode Node) Times(LawRule.PurchasePrice rule, PriceStanding standing)
    {
        switch (rule.Times)
        {
            case PriceTimes.RemainingOverTotal when standing.Installments > 0:
                var counted = Fraction.Of(standing.Remaining, standing.Installments);
                return (counted, Nodes.Of(
                    Combination.Quotient, "installments not yet due over all", Nodes.Text(counted), "a count over a count", rule.Citation,
                    Nodes.Leaf("installments not yet due", standing.Remaining, "at most all of them", MoneyRules.Ceilings, InForce.Fact),
                    Nodes.Leaf("installments in all", standing.Installments, "what the terms need from nothing", MoneyRules.Ceilings, InForce.Fact)));
            case PriceTimes.RetailOverTotal when standing.TotalRent != Money.Zero:
                var worth = standing.RetailValue ?? standing.CashPrice;
                var share = new Fraction(worth.Cents, standing.TotalRent.Cents);
                return (share, Nodes.Of(
                    Combination.Quotient, "retail value over the total of payments", Nodes.Text(share), "an amount over an amount", rule.Citation,
                    Nodes.Leaf("retail value", worth, "said for the unit, else its cash price", MoneyRules.Ceilings, InForce.Fact), TotalCost("total of payments")));
            case PriceTimes.Share: return (rule.Share, Nodes.Leaf("share", Nodes.Text(rule.Share), "the act says so", rule.Citation, null));
            default: return (Fraction.Zero, Nodes.Leaf("share", 0, "nothing is to be paid under the terms", rule.Citation, InForce.Fact));
        }
    }

    /// <summary>Rent paid and past due under the terms in force, and equity carried into them, as a ceiling counts them.</summary>
    private ExplainNode RentPaid() => Nodes.Of(
        Combination.Sum, "rent paid as the ceiling counts it", state.RentPaidWithPastDue,
        "rent of the terms in force with past-due rent paid, and equity carried into them", MoneyRules.Ceilings,
        RentUnder(Current, now, pastDuePaid: true), Carried("carriedEquity"));

    private ExplainNode PriceTax(string figure)
    {
        if (state.HasEnded) { return NothingAfterTheEnd(figure); }
        var entry = state.TaxOn(state.On);
        if (!entry.Taxes.Sale && entry.Regime != TaxRegime.NetPriceAtPurchase)
        {
            return Nodes.Leaf(figure, account.EarlyPurchase.Tax, $"{state.Jurisdiction} does not tax this price on {Day(state.On)}", MoneyRules.TaxAtPurchase, null);
        }

        return TaxOn("price", account.EarlyPurchase.Price, Price("earlyPurchase.price"), entry.Rate, state.Jurisdiction, state.On, MoneyRules.TaxAtPurchase)
            with { Figure = figure, Value = account.EarlyPurchase.Tax.ToString() };
    }

    private ExplainNode Payoff(string figure)
    {
        var (tax, price) = (account.EarlyPurchase.Tax, account.EarlyPurchase.Price);
        List<ExplainNode> due = [PastDue("pastDue")];
        if (!state.HasEnded) { due.AddRange([Price("earlyPurchase.price"), PriceTax("earlyPurchase.tax")]); }
        var sum = Nodes.SumOrOne("to be paid", account.PastDue + price + tax, "what is past due, the price and its tax", MoneyRules.Payoff, due);
        var less = Nodes.Of(
            Combination.Difference, "less what waits", account.PastDue + price + tax - account.UnappliedCredit, "unapplied credit is taken off", MoneyRules.Payoff,
            sum, Waiting("unappliedCredit", account.UnappliedCredit, goodwill: false));
        return Nodes.Of(
            Combination.Highest, figure, account.EarlyPurchase.Payoff, "never below nothing",
            state.HasEnded ? MoneyRules.Ended : MoneyRules.Payoff, Nothing(MoneyRules.Payoff), less);
    }
}
