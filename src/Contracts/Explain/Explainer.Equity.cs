using Contracts.Agreements;
using Contracts.History;
using Contracts.Payments;

namespace Contracts.Explain;

/// <summary>Rent credit, equity and what is left to own (M46 to M48, M55).</summary>
internal sealed partial class Explainer
{
    /// <summary>Equity under a set of terms, of the money of a step of the fold.</summary>
    private ExplainNode Equity(string figure, Money value, int terms, MoneyPicture money, bool pastDuePaid)
    {
        var credit = Counted(terms, money, pastDuePaid);
        var price = trace.Terms[terms].Terms.PurchasePrice;
        var upper = Nodes.Of(
            Combination.Lowest, "equity up to the price", Money.Min(price, Value(credit)), "no more than the purchase price counts", MoneyRules.Equity,
            OfTerms(trace.Terms[terms], "purchase price", price), credit);
        // Without an exchange nothing is taken off the rent credit, which is never below nothing.
        return terms == 0
            ? upper with { Figure = figure, Value = value.ToString() }
            : Nodes.Of(Combination.Highest, figure, value, "equity is never below nothing", MoneyRules.Equity, Nothing(MoneyRules.Equity), upper);
    }

    /// <summary>The rent credit that counts: C, less M once there was an exchange.</summary>
    private ExplainNode Counted(int terms, MoneyPicture money, bool pastDuePaid)
    {
        var credit = RentCredit("rent credit", terms, money, pastDuePaid);
        if (terms == 0) { return credit; }
        var off = NotCounted(terms);
        return Nodes.Of(
            Combination.Difference, "rent credit that counts", Value(credit) - Value(off), "rent credit less what stayed behind at exchanges", MoneyRules.Equity,
            credit, off);
    }

    /// <summary>C: for each set of terms its share of the rent paid under it, rounded once.</summary>
    private ExplainNode RentCredit(string figure, int terms, MoneyPicture money, bool pastDuePaid)
    {
        var parts = new List<ExplainNode>();
        for (var index = 0; index <= terms; index++)
        {
            var of = trace.Terms[index];
            var rent = RentUnder(index, money, pastDuePaid);
            parts.Add(Nodes.Of(
                Combination.RoundedProduct, $"rent credit of the terms of {Day(of.Fact.Event.On)}", of.Terms.CreditShare.Of(Value(rent)),
                "the share of the rent paid that counts", MoneyRules.RentCredit, rent, OfTerms(of, "credit share", of.Terms.CreditShare)));
        }

        return Nodes.SumOrOne(figure, Total(parts.Select(Value)), "the rent credit of every set of terms", MoneyRules.RentCredit, parts);
    }

    private ExplainNode RentUnder(int terms, MoneyPicture money, bool pastDuePaid)
    {
        var paid = ByPayment(money, item => item.Part == ChargePart.Rent && item.Charge.TermsIndex == terms, MoneyRules.RentCredit);
        var node = Nodes.Of(Combination.Sum, "rent paid", Total(paid.Select(Value)), "what each payment has paid of it", MoneyRules.RentCredit, paid);
        if (!pastDuePaid) { return node; }
        var open = OpenRent(terms, money);
        return Nodes.Of(
            Combination.Sum, "rent paid and past due", Value(node) + Value(open), "as it would be with all past-due rent paid", MoneyRules.Price, node, open);
    }

    private ExplainNode OpenRent(int? terms, MoneyPicture money)
    {
        var open = money.Open.Where(one => one.Item.Part == ChargePart.Rent && (terms is null || one.Item.Charge.TermsIndex == terms))
            .Select(one => Unpaid(Name(one.Item), one.Item, one.Open, money)).ToList();
        return Nodes.Of(Combination.Sum, "rent past due", Total(open.Select(Value)), "the unpaid rents", MoneyRules.Remaining, open);
    }

    /// <summary>
    /// M after the exchange that brought a set of terms. M := C - min(C - M before, new price) is the higher of M before and C - new price; so
    /// after several exchanges it is the most that any of them left behind, and the tree is no deeper for the tenth exchange than for the second.
    /// </summary>
    private ExplainNode NotCounted(int terms)
    {
        var of = trace.Terms[terms];
        var figure = $"rent credit left behind on {Day(of.Fact.Event.On)}";
        if (terms == 1)
        {
            return Nodes.Of(
                Combination.Difference, figure, of.NotCounted, "rent credit less the equity carried over", MoneyRules.Exchange,
                RentCredit("rent credit at the exchange", 0, of.Before!, pastDuePaid: false), CarriedAt(terms));
        }

        return Nodes.Of(
            Combination.Highest, figure, of.NotCounted, "the most that an exchange left behind, each its rent credit less its new purchase price", MoneyRules.Exchange,
            [Nothing(MoneyRules.Exchange), .. Enumerable.Range(1, terms).Select(Over)]);
    }

    /// <summary>Rent credit at an exchange above the new purchase price; below nothing where all of it is carried over.</summary>
    private ExplainNode Over(int terms)
    {
        var of = trace.Terms[terms];
        var credit = RentCredit("rent credit at the exchange", terms - 1, of.Before!, pastDuePaid: false);
        return Nodes.Of(
            Combination.Difference, $"above the price of {Day(of.Fact.Event.On)}", Value(credit) - of.Terms.PurchasePrice, "rent credit less the new purchase price",
            MoneyRules.Exchange, credit, OfTerms(of, "new purchase price", of.Terms.PurchasePrice));
    }

    /// <summary>What an exchange carries over: the credit that counted until then, at most the new purchase price.</summary>
    private ExplainNode CarriedAt(int terms)
    {
        var of = trace.Terms[terms];
        var counted = Counted(terms - 1, of.Before!, pastDuePaid: false);
        return Nodes.Of(
            Combination.Lowest, "carried over", Money.Min(Value(counted), of.Terms.PurchasePrice), "at most the new purchase price is carried over", MoneyRules.Exchange,
            counted, OfTerms(of, "new purchase price", of.Terms.PurchasePrice));
    }

    private ExplainNode Carried(string figure) => Current == 0
        ? Nodes.Leaf(figure, account.CarriedEquity, "there was no exchange", MoneyRules.Exchange, InForce.Fact)
        : Nodes.Of(
            Combination.Highest, figure, account.CarriedEquity, "what the last exchange carried over, never below nothing", MoneyRules.Exchange,
            Nothing(MoneyRules.Exchange), CarriedAt(Current));

    private ExplainNode MerchandiseCredit(string figure)
    {
        var left = Nodes.Of(
            Combination.Difference, figure, state.RentCredit - account.Equity, "rent credit that does not count toward this instrument", MoneyRules.Equity,
            RentCredit("rent credit", Current, now, pastDuePaid: false), Equity("equity", account.Equity, Current, now, pastDuePaid: false));
        var spent = trace.Effective.Select(fact => fact.Event is ContractEvent.MerchandiseCreditSpent e
            ? Nodes.Leaf($"spent on {Day(e.On)}", e.Amount, FactWords.Of(e), MoneyRules.Spending, fact) : null).OfType<ExplainNode>().ToList();
        if (spent.Count == 0) { return left; }
        var rest = Nodes.Of(
            Combination.Difference, "not spent", state.RentCredit - account.Equity - state.MerchandiseSpent, "less what was spent on sales", MoneyRules.Spending,
            [left with { Figure = "not counting toward this instrument" }, .. spent]);
        return Nodes.Of(
            Combination.Highest, figure, account.MerchandiseCredit, "what was spent is not asked back", MoneyRules.Spending, Nothing(MoneyRules.Spending), rest);
    }

    private ExplainNode RemainingToOwn(string figure) => state.Status == ContractStatus.Owned
        ? NothingAfterTheEnd(figure)
        : Nodes.Of(
            Combination.Difference, figure, account.RemainingToOwn, "purchase price less equity", MoneyRules.Remaining,
            OfTerms(InForce, "purchase price", InForce.Terms.PurchasePrice), Equity("equity", account.Equity, Current, now, pastDuePaid: false));

    private static ExplainNode Nothing(string citation) => Nodes.Leaf("nothing", Money.Zero, "the lower bound", citation, null);

    private static Money Value(ExplainNode node) => Money.Parse(node.Value);

    private static string Day(NodaTime.LocalDate day) => NodaTime.Text.LocalDatePattern.Iso.Format(day);
}
