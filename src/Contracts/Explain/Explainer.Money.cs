using Contracts.History;
using Contracts.Payments;

namespace Contracts.Explain;

/// <summary>What money has paid, and what of it waits (M33 to M39, M64).</summary>
internal sealed partial class Explainer
{
    private static readonly string[] PaidKinds = ["paid.rent", "paid.plan", "paid.tax", "paid.fees", "paid.accessories", "paid.purchase"];

    /// <summary>What each payment has paid of some items: one node a payment, with the items under it where they are several.</summary>
    private static List<ExplainNode> ByPayment(MoneyPicture money, Func<ChargeItem, bool> counts, string citation)
    {
        var parts = new List<ExplainNode>();
        foreach (var lot in money.Lots)
        {
            if (lot.IsGoodwill) { continue; }
            var paid = lot.Paid.Where(one => counts(one.Item)).Select(one => Pays(lot, one.Item, one.Amount, citation)).ToList();
            if (paid.Count == 0) { continue; }
            var sum = Nodes.SumOrOne($"payment of {Day(lot.Fact.Event.On)}", Total(paid.Select(Value)), "what the payment has paid of it", citation, paid);
            parts.Add(sum with { Event = lot.Fact });
        }

        return parts;
    }

    private static ExplainNode Pays(LotPicture lot, ChargeItem item, Money amount, string citation) => Nodes.Leaf(
        Name(item), amount, $"{Source(lot)} pays {Name(item)}", citation, lot.Fact);

    private static string Source(LotPicture lot) => lot.IsGoodwill ? $"goodwill of {Day(lot.Fact.Event.On)}" : $"the payment of {Day(lot.Fact.Event.On)}";

    private ExplainNode PaidFor(string figure, Money value, PaidFor wanted) => Nodes.Of(
        Combination.Sum, figure, value, "what each payment that stands has paid of it", MoneyRules.Paid, ByPayment(now, item => PaidTotals.For(item) == wanted, MoneyRules.Paid));

    private ExplainNode PaidTotal(string figure) => Nodes.Of(
        Combination.Sum, figure, account.Paid.Total, "rent, plan, tax, fees, accessories and purchase", MoneyRules.Paid,
        PaidKinds.Select(kind => Of(kind)!));

    /// <summary>Money, or goodwill, that nothing is open for.</summary>
    private ExplainNode Waiting(string figure, Money value, bool goodwill)
    {
        var rule = goodwill ? MoneyRules.Goodwill : MoneyRules.Unapplied;
        return Nodes.Of(
            Combination.Sum, figure, value, goodwill ? "what is left of each goodwill credit" : "what is left of each payment", rule,
            now.Lots.Where(lot => lot.IsGoodwill == goodwill && lot.Waiting != Money.Zero).Select(lot => Left(lot, rule)));
    }

    private static ExplainNode Left(LotPicture lot, string rule)
    {
        var received = Nodes.Leaf("received", lot.Received, lot.IsGoodwill ? "goodwill given" : "received", rule, lot.Fact);
        var paid = lot.Paid.Select(one => Pays(lot, one.Item, one.Amount, MoneyRules.Applied));
        var back = lot.Refunds.Select(one => Nodes.Leaf("refunded", one.Amount, "given back", MoneyRules.RefundOf, one.Refund));
        return Nodes.Of(
            Combination.Difference, $"left of {Source(lot)}", lot.Waiting, "what came in less what it has paid and what was given back", rule,
            [received, .. paid, .. back]) with { Event = lot.Fact };
    }

    private ExplainNode PastDue(string figure) => Nodes.Of(
        Combination.Sum, figure, account.PastDue, "all unpaid parts of charges", MoneyRules.Remaining,
        now.Open.Select(one => Unpaid($"{OpenItems}{one.Item.Charge.Id}.{one.Item.Part.Word()}", one.Item, one.Open, now)));

    /// <summary>All parts of a charge by its id, or one of them.</summary>
    private ExplainNode? OpenItem(string figure)
    {
        var wanted = figure[OpenItems.Length..];
        var open = now.Open.Where(one => one.Item.Charge.Id == wanted || $"{one.Item.Charge.Id}.{one.Item.Part.Word()}" == wanted)
            .Select(one => Unpaid($"{OpenItems}{one.Item.Charge.Id}.{one.Item.Part.Word()}", one.Item, one.Open, now)).ToList();
        return open.Count == 0 ? null : Nodes.SumOrOne(figure, Total(open.Select(Value)), "the unpaid parts of the charge", MoneyRules.Remaining, open);
    }

    /// <summary>What is unpaid of an item: what was charged, less what each source has paid of it.</summary>
    private ExplainNode Unpaid(string figure, ChargeItem item, Money open, MoneyPicture money)
    {
        var charged = Charged(item);
        var paid = money.Lots.SelectMany(lot => lot.Paid.Where(one => one.Item == item).Select(one => Pays(lot, item, one.Amount, MoneyRules.Applied))).ToList();
        return paid.Count == 0
            ? charged with { Figure = figure }
            : Nodes.Of(Combination.Difference, figure, open, "what was charged less what was paid of it", MoneyRules.Applied, [charged, .. paid]);
    }
}
