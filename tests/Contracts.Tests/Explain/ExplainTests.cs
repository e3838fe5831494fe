using Contracts.Explain;
using Contracts.Tests.House;
using Contracts.Tests.Support;
using NodaTime;
using NodaTime.Text;
using Xunit;

namespace Contracts.Tests.Explain;

/// <summary>Trees of single figures, from given events, as somebody at the counter would read them.</summary>
public sealed class ExplainTests
{
    private const string TwoPayments = "2026-09-05 sign\n2026-09-05 pay amount=45.00 method=cash\n2026-11-05 pay amount=38.00 method=card";

    [Fact]
    public void Equity_is_the_share_of_each_payment_and_names_its_event()
    {
        var tree = Of(TwoPayments, "equity", "2026-11-20");
        Assert.Equal(("83.00", Combination.Lowest, "money.md M47, Equity and merchandise credit"), (tree.Value, tree.How, tree.Citation));
        var credit = tree.Parts.Single(part => part.Figure == "rent credit");
        Assert.Equal("rounded-product: the share of the rent paid that counts: 83.00 x 1.00, to the nearest cent", credit.Rule);
        Assert.Equal(["L2 45.00", "L3 38.00"], credit.Parts[0].Parts.Select(part => $"{part.Event!.Key} {part.Value}"));
    }

    [Fact]
    public void The_price_by_the_terms_is_the_example_of_the_page()
    {
        var tree = Of(TwoPayments, "earlyPurchase.price", "2026-11-20");
        Assert.Equal("rounded-product: what is left to own, less the discount: 1112.00 x 0.60, to the nearest cent", tree.Rule);
        Assert.Equal("667.20", tree.Value);
    }

    [Fact]
    public void A_ceiling_that_binds_is_named_by_the_act()
    {
        var tree = Of("2026-09-05 sign state=NY intro=2x5.00 tiers=*:0.00\n2026-09-05 pay amount=5.00 method=cash", "earlyPurchase.price", "2026-10-20");
        Assert.Equal((Combination.Lowest, "N.Y. Pers. Prop. Law § 504"), (tree.How, tree.Citation));
        var quotient = Flat(tree).First(node => node.How == Combination.Quotient);
        // 1195.00 x 32 / 33, rounded down, against 1190.00 by the terms.
        Assert.Equal("1158.78", tree.Value);
        Assert.Equal(["32", "33"], quotient.Parts.Select(part => part.Value));
    }

    [Fact]
    public void What_an_exchange_left_behind_is_worked_out_from_the_payments_of_that_day()
    {
        const string life = """
            2026-09-05 sign price=100.00 rent=40.00 intro=0x0.00
            2026-09-05 pay amount=40.00 method=cash
            2026-10-05 pay amount=40.00 method=cash
            2026-10-20 exchange serial=S-2 price=60.00 rent=30.00 intro=0x0.00
            """;
        var tree = Of(life, "merchandiseCredit", "2026-10-21");
        Assert.Equal("20.00", tree.Value);
        var left = Flat(tree).Single(node => node.Figure.StartsWith("rent credit left behind", StringComparison.Ordinal));
        Assert.Equal(("20.00", "money.md M55, Exchange"), (left.Value, left.Citation));
        Assert.Equal("lowest: at most the new purchase price is carried over: of 80.00, 60.00", left.Parts[1].Rule);
    }

    [Fact]
    public void What_waits_is_what_came_in_less_what_it_paid_and_what_was_given_back()
    {
        var tree = Of(TwoPayments + "\n2026-11-06 pay amount=50.00 method=card\n2026-11-07 refund amount=20.00 reason=asked", "unappliedCredit", "2026-11-20");
        var left = Assert.Single(tree.Parts);
        Assert.Equal("difference: what came in less what it has paid and what was given back: 50.00 - 20.00", left.Rule);
        Assert.Equal("L5", left.Parts[1].Event!.Key);
    }

    [Fact]
    public void A_late_fee_under_an_act_is_the_lower_of_the_two_and_names_the_section()
    {
        // Signed where nothing limits the fee, moved to where an act does.
        var fee = Of("2026-09-05 sign late=50.00/12\n2026-09-06 move state=NY jurisdiction=untaxed", "openItems.late:2026-11-05", "2026-11-20");
        Assert.Equal((Combination.Lowest, "5.00"), (fee.How, fee.Value));
        Assert.Equal(["50.00 money.md M20, Frozen", "5.00 N.Y. Pers. Prop. Law § 501(3)(e)"], fee.Parts.Select(part => $"{part.Value} {part.Citation}"));
    }

    [Fact]
    public void A_figure_that_is_none_is_refused_with_the_names_of_those_there_are()
    {
        var explanation = At(TwoPayments, "2026-12-06")!;
        Assert.Null(explanation.Of("equities"));
        var refusal = explanation.Unknown("equities");
        Assert.Equal("field-invalid", refusal.Slug);
        Assert.Contains("equity, carriedEquity", refusal.Detail, StringComparison.Ordinal);
        Assert.Contains("openItems.installment:2026-12-05, openItems.installment:2026-12-05.rent", refusal.Detail, StringComparison.Ordinal);
    }

    [Fact]
    public void Every_rule_that_a_tree_can_cite_is_on_the_page_under_its_number_and_name()
    {
        var page = File.ReadAllText(Path.Combine(Repository.Root, "docs/money.md"));
        Assert.All(MoneyRules.All, rule =>
        {
            var name = rule["money.md ".Length..].Replace(", ", ". ", StringComparison.Ordinal);
            Assert.Contains($"**{name.Replace("fees. ", "fees, ", StringComparison.Ordinal)}", page, StringComparison.Ordinal);
        });
    }

    [Fact]
    public void Every_combination_is_explained_on_the_page()
    {
        var page = File.ReadAllText(Path.Combine(Repository.Root, "docs/explain.md"));
        Assert.All(Enum.GetValues<Combination>(), how => Assert.Contains($"| `{how.Word()}` |", page, StringComparison.Ordinal));
    }

    private static IEnumerable<ExplainNode> Flat(ExplainNode node) => [node, .. node.Parts.SelectMany(Flat)];

    private static ExplainNode Of(string life, string figure, string on) => At(life, on)!.Of(figure)!;

    private static Explanation? At(string life, string on)
    {
        var shop = Script.Given(life).Shop;
        return Explanation.At(shop.History("C-1"), shop.RatesAt(Instant.MaxValue), LocalDatePattern.Iso.Parse(on).Value);
    }
}
