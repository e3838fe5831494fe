using System.Text;
using System.Text.Json.Nodes;
using Contracts.Agreements;
using Contracts.Books;
using Contracts.Papers;
using Contracts.Tests.Support;
using Xunit;

namespace Contracts.Tests.Papers;

/// <summary>What papers show, and that giving one out moves nothing. The data of a paper stand for its bytes here.</summary>
public sealed class PaperTests
{
    [Fact]
    public void A_receipt_says_what_its_payment_paid_what_is_left_and_the_price_to_own()
    {
        // 45.00 of rent, then 8 % tax on 38.00 = 3.04, rent 38.00, plan 7.00 with 0.56 tax; 50.00 paid: tax 3.60, rent 38.00, plan 7.00, 1.40 over.
        var script = Script.Given("""
            2026-09-05 sign area=taxed elected=yes
            2026-09-05 pay amount=48.60 method=cash
            2026-11-05 pay amount=50.00 method=card reference=till
            2026-11-05 issue kind=receipt for=L3 key=R
            """);
        var paper = Paper(script, "R");
        Assert.Equal(
            ["installment tax 3.60", "installment rent 38.00", "installment plan 7.00"],
            paper["receipt"]!["parts"]!.AsArray().Select(part => $"{part!["what"]} {part["part"]} {part["amount"]}"));
        Assert.Equal(("50.00", "1.40"), ((string)paper["receipt"]!["amount"]!, (string)paper["receipt"]!["waiting"]!));
        // Left 1195.00 - 83.00; 40 % off through month 3.
        Assert.Equal(("1112.00", "667.20"), (Figure(paper, "remainingBySchedule"), Figure(paper, "earlyPurchase.price")));
    }

    [Fact]
    public void A_receipt_knows_what_was_known_right_after_its_payment_and_nothing_later()
    {
        var script = Script.Given("""
            2026-09-05 sign
            2026-09-05 pay amount=45.00 method=cash
            2026-11-05 @2026-11-20 pay amount=38.00 method=cash
            2026-10-20 @2026-11-25 pay amount=38.00 method=cash
            2026-11-05 @2026-11-26 issue kind=receipt for=L3 key=late
            2026-10-20 @2026-11-26 issue kind=receipt for=L4 key=later
            """);
        // The payment of October was not known on 20 November: then the one of November paid November.
        Assert.Equal("installment:2026-11-05", (string?)Paper(script, "late")["receipt"]!["parts"]![0]!["charge"]);
        Assert.Equal("2026-11-20T17:00:00Z", (string?)Paper(script, "late")["known"]);
        // As of its own day, 20 October, nothing was due: all of it waited.
        Assert.Equal((0, "38.00"), (Paper(script, "later")["receipt"]!["parts"]!.AsArray().Count, (string)Paper(script, "later")["receipt"]!["waiting"]!));
    }

    [Fact]
    public void A_paper_on_the_account_knows_what_is_known_when_it_is_issued()
    {
        var script = Script.Given("""
            2026-09-05 sign
            2026-09-10 @2026-09-10 issue kind=statement key=before
            2026-09-05 @2026-09-11 pay amount=45.00 method=cash
            2026-09-10 @2026-09-12 issue kind=statement key=after
            """);
        Assert.Equal(("45.00", "0.00"), (Figure(Paper(script, "before"), "pastDue"), Figure(Paper(script, "after"), "pastDue")));
    }

    [Fact]
    public void Every_figure_of_a_paper_is_the_figure_of_the_account()
    {
        var script = Script.Given("2026-09-05 sign area=taxed accessories=24.90\n2026-09-05 pay amount=60.00 method=cash\n2026-12-10 issue kind=statement key=S");
        var figures = (JsonObject)Paper(script, "S")["figures"]!;
        var account = JsonNode.Parse(AccountText.Of(script.On("2026-12-10", "2026-12-10")))!;
        foreach (var (name, value) in figures) { Assert.Equal(account[name]?.ToJsonString(), value?.ToJsonString()); }
        Assert.Equal(14, figures.Count);
    }

    [Fact]
    public void The_totals_of_a_statement_are_the_sums_of_what_it_lists()
    {
        var script = Script.Given("""
            2026-09-05 sign area=taxed elected=yes accessories=24.90
            2026-09-05 pay amount=80.00 method=cash
            2026-11-20 pay amount=52.00 method=check
            2026-11-25 reverse-payment payment=L3 code=R01 reason=bank
            2026-12-01 pay amount=150.00 method=cash
            2026-12-02 refund amount=3.00
            2026-12-10 credit amount=4.00 reason=kindness
            2026-12-11 waive fee=late:2026-11-05 reason=kindness
            2026-12-20 issue kind=statement key=S
            """);
        var paper = Paper(script, "S");
        var (charges, money) = (paper["statement"]!["charges"]!.AsArray(), paper["statement"]!["money"]!.AsArray());
        Assert.Contains(charges, line => line!["reversedOn"] is not null);
        var standing = charges.Where(line => line!["reversedOn"] is null).ToArray();
        Assert.Equal(Sum(standing, "open"), Money.Parse(Figure(paper, "pastDue")));
        Assert.Equal(Sum(standing, "total"), Money.Parse((string)paper["statement"]!["charged"]!));
        Assert.Equal(Sum(money, "amount"), Money.Parse((string)paper["statement"]!["received"]!));
        // 80.00 + 52.00 - 52.00 + 150.00 - 3.00, and none of it is lost: it has paid something or waits.
        Assert.Equal(Money.Parse("227.00"), Sum(money, "amount"));
        Assert.Equal(Sum(money, "amount"), Money.Parse(Figure(paper, "paid.total")) + Money.Parse(Figure(paper, "unappliedCredit")));
        var goodwill = Sum(money, "goodwill") - Money.Parse(Figure(paper, "goodwillCredit"));
        Assert.Equal(Money.Parse(Figure(paper, "paid.total")) + goodwill, Sum(standing, "total") - Sum(standing, "open"));

        static Money Sum(IEnumerable<JsonNode?> lines, string field) =>
            lines.Aggregate(Money.Zero, (sum, line) => sum + Money.Parse((string)line![field]!));
    }

    [Fact]
    public void A_paper_that_is_issued_changes_no_figure_and_adds_no_line_to_the_books()
    {
        const string life = "2026-09-05 sign area=taxed elected=yes\n2026-09-05 pay amount=60.00 method=cash\n";
        var (without, with) = (Script.Given(life), Script.Given(life + "2026-10-05 @2026-09-06 issue kind=statement\n2026-09-05 issue kind=receipt for=L2"));
        var (before, after) = (without.On("2027-03-01"), with.On("2027-03-01"));
        Assert.Equal(
            AccountText.Of(before), AccountText.Of(after with { Events = before.Events, LastSequence = before.LastSequence }));
        var (dry, issued) = (without.Shop.History("C-1"), with.Shop.History("C-1"));
        // Though the statement looks a month ahead, nothing falls due in the books by it.
        Assert.Equal(Postings.PostedThrough(dry), Postings.PostedThrough(issued));
        Assert.Equal(Postings.Lines(dry, with.Shop.RatesThrough(long.MaxValue)), Postings.Lines(issued, with.Shop.RatesThrough(long.MaxValue)));
        Assert.Empty(Postings.Added(dry, issued, with.Shop.RatesThrough(long.MaxValue)));
    }

    [Fact]
    public void A_statement_for_a_day_ahead_lets_no_fee_be_noted_early()
    {
        // The horizon of consequences is what has been told; looking ahead tells nothing.
        var script = Script.Given("2026-09-05 sign\n2026-10-01 @2026-09-06 issue kind=statement\n2026-09-06 pay amount=1.00 method=cash");
        Assert.DoesNotContain(script.Recorded(), line => line.StartsWith("FeeCharged", StringComparison.Ordinal));
    }

    [Fact]
    public void Papers_are_events_that_can_be_listed_with_the_digests_of_what_made_them()
    {
        var script = Script.Given("2026-09-05 sign\n2026-09-05 pay amount=45.00 method=cash\n2026-09-05 issue kind=receipt for=L2 key=R");
        var entry = script.Shop.History("C-1").Entries[^1];
        var issued = Assert.IsType<ContractEvent.DocumentIssued>(entry.Event);
        var (data, printed, differs) = script.Shop.MakeAgain("C-1", "R");
        Assert.Equal(("R", "receipt", "L2", entry.Sequence - 1), (entry.Key, issued.Kind, issued.For, issued.ThroughSequence));
        Assert.Equal((PaperJson.Digest(data), printed!.Digest), (issued.DataDigest, issued.Digest));
        Assert.Empty(differs);
        Assert.Equal("OR.1", issued.LawPack);
    }

    [Fact]
    public void A_press_that_fails_issues_nothing()
    {
        var script = Script.Given("2026-09-05 sign");
        script.Shop.Desk = script.Shop.Desk with { Press = static (_, _, _) => throw new PressException("no ink") };
        script.When("2026-09-06 issue kind=statement key=S").ThenRefused(RefusalCode.PaperNotMade);
        Assert.Single(script.Shop.History("C-1").Entries);
        script.Shop.Desk = new InMemoryShop().Desk;
        script.When("2026-09-06 issue kind=statement key=S").ThenAccepted();
    }

    [Fact]
    public void What_is_not_as_it_was_is_named_by_data_rule_or_template()
    {
        var script = Script.Given("2026-09-05 sign\n2026-09-06 issue kind=statement key=S");
        var desk = script.Shop.Desk;
        Press other = static (data, kind, _) => new Printed([.. data, (byte)' '], kind.Word() + ".0", "other", "application/json");
        Press same = static (data, kind, _) => new Printed([.. data, (byte)' '], kind.Word() + ".0", "none", "application/json");
        Assert.StartsWith("template: ", Assert.Single(Differs(desk with { Press = other })), StringComparison.Ordinal);
        Assert.StartsWith("rule: ", Assert.Single(Differs(desk with { Press = same, Rules = "a later build" })), StringComparison.Ordinal);
        Assert.StartsWith("data: ", Differs(desk with { Press = same, FactsDigest = (_, _) => "tampered" })[0], StringComparison.Ordinal);
        Assert.Empty(Differs(desk));

        IReadOnlyList<string> Differs(PaperDesk changed)
        {
            script.Shop.Desk = changed;
            return script.Shop.MakeAgain("C-1", "S").Differs;
        }
    }

    [Fact]
    public void The_price_to_own_on_a_paper_names_the_act_that_sets_it()
    {
        var script = Script.Given("2026-09-05 sign state=NY intro=0x0.00 price=360.00 rent=10.00 tiers=\n2026-09-05 pay amount=10.00 method=cash\n2026-09-06 issue kind=early-purchase key=E");
        Assert.Equal("terms", Figure(Paper(script, "E"), "earlyPurchase.basis"));
        var capped = Script.Given("2026-09-05 sign state=NY intro=0x0.00 price=360.00 cash=300.00 rent=10.00 tiers=\n2026-09-05 pay amount=10.00 method=cash\n2026-09-06 issue kind=early-purchase key=E");
        // 300.00 x 35 / 36 = 291.666.., rounded down, below the 350.00 that remains.
        Assert.Equal(("291.66", "N.Y. Pers. Prop. Law § 504"), (Figure(Paper(capped, "E"), "earlyPurchase.price"), Figure(Paper(capped, "E"), "earlyPurchase.basis")));
    }

    [Fact]
    public void An_early_purchase_letter_says_how_long_it_holds()
    {
        var script = Script.Given("2026-09-05 sign\n2026-09-05 pay amount=45.00 method=cash\n2026-09-20 issue kind=early-purchase key=E");
        var paper = Paper(script, "E");
        // 1150.00 x 0.60; on 5 November 38.00 fall due: 38.00 + 1112.00 x 0.60 = 705.20.
        Assert.Equal(("690.00", "2026-11-04", "705.20"), (Figure(paper, "earlyPurchase.payoff"), (string)paper["offer"]!["holdsThrough"]!, (string)paper["offer"]!["nextPayoff"]!));
    }

    [Fact]
    public void Each_kind_about_a_fact_takes_that_fact_and_no_other()
    {
        var script = Script.Given("2026-09-05 sign\n2026-09-05 pay amount=45.00 method=cash\n2026-10-05 return");
        foreach (var (kind, key, day) in new[] { ("agreement", "L1", "2026-09-05"), ("receipt", "L2", "2026-09-05"), ("return", "L3", "2026-10-05") })
        {
            script.When($"{day} @2026-10-06 issue kind={kind} for={key}").ThenAccepted();
            script.When($"{day} @2026-10-06 issue kind={kind} for={(key == "L2" ? "L1" : "L2")}").ThenRefused(RefusalCode.PaperSubjectUnknown);
        }
    }

    private static JsonNode Paper(Script script, string id) => JsonNode.Parse(Encoding.UTF8.GetString(script.Shop.MakeAgain("C-1", id).Data!))!;

    private static string Figure(JsonNode paper, string path) =>
        (string)path.Split('.').Aggregate(paper["figures"]!, (node, name) => node[name]!)!;
}
