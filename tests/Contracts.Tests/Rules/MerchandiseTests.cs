using System.Text;
using Contracts.Agreements;
using Contracts.Books;
using Contracts.Commands;
using Contracts.Disclosures;
using Contracts.Explain;
using Contracts.Replays;
using Contracts.Tests.Support;
using Contracts.Tests.WhatIf;
using NodaTime;
using NodaTime.Text;
using Xunit;

namespace Contracts.Tests.Rules;

/// <summary>Merchandise credit spent on a sale (M84): how much of it, when, and what becomes of it when the rent behind it is taken back.</summary>
public sealed class MerchandiseTests
{
    private const string TakenBackAfterwards = "2026-11-04 spend-credit amount=10.00 sale=40.00\n2026-11-06 reverse-payment payment=A code=R01 reason=bank";

    /// <summary>45.00 of credit, 30.00 of it carried to an instrument at 30.00, 15.00 left over. Rent of November is not open yet.</summary>
    private const string LeftOver = """
        2026-09-01 sign returned=0.00
        2026-09-01 pay amount=25.00 method=cash key=A
        2026-09-01 pay amount=20.00 method=check key=B
        2026-09-20 exchange price=30.00 rent=10.00 intro=0x0.00 tiers= returned=0.00

        """;

    /// <summary>The same with November's 38.00 open at the exchange, so that the contract runs on.</summary>
    private const string StillRuns = """
        2026-09-01 sign returned=0.00 late=0.00/7
        2026-09-01 pay amount=45.00 method=cash key=A
        2026-11-02 exchange price=30.00 rent=10.00 intro=0x0.00 tiers= returned=0.00 late=0.00/7

        """;

    [Fact]
    public void What_is_spent_is_credit_no_more_and_no_other_figure_moves()
    {
        var script = Script.Given(LeftOver);
        var before = script.On("2026-09-22");
        script.When("2026-09-22 spend-credit amount=12.00 sale=40.00").ThenAccepted();
        var after = script.On("2026-09-22");
        Assert.Equal(("15.00", "3.00"), (before.MerchandiseCredit.ToString(), after.MerchandiseCredit.ToString()));
        Assert.Equal(Text(before), Text(after with { MerchandiseCredit = before.MerchandiseCredit }));
        // The day before, and as it was known.
        Assert.Equal("15.00", script.On("2026-09-21").MerchandiseCredit.ToString());
        Assert.Equal("15.00", script.On("2026-09-22", known: "2026-09-21").MerchandiseCredit.ToString());
    }

    [Theory]
    [InlineData("2026-09-22 spend-credit amount=15.01 sale=40.00", RefusalCode.MerchandiseExceedsCredit, "15.00")]
    [InlineData("2026-09-22 spend-credit amount=15.00 sale=14.99", RefusalCode.MerchandiseExceedsCredit, "14.99")]
    [InlineData("2026-09-22 spend-credit amount=15.01 sale=15.00", RefusalCode.MerchandiseExceedsCredit, "15.00")]
    [InlineData("2026-09-22 spend-credit amount=0.00 sale=40.00", RefusalCode.AmountNotPositive, null)]
    [InlineData("2026-09-22 spend-credit amount=1.00 sale=0.00", RefusalCode.AmountNotPositive, null)]
    [InlineData("2026-09-19 @2026-09-22 spend-credit amount=1.00 sale=40.00", RefusalCode.MerchandiseExceedsCredit, "0.00")]
    [InlineData("2026-10-24 @2026-09-22 spend-credit amount=1.00 sale=40.00", RefusalCode.OnTooFarAhead, "2026-10-23")]
    public void No_more_than_there_is_and_no_more_than_the_sale(string when, RefusalCode code, string? right) => Script.Given(LeftOver).When(when).ThenRefused(code, right);

    [Fact]
    public void All_of_it_may_go_in_several_sales_and_then_there_is_none()
    {
        var script = Script.Given(LeftOver + "2026-09-22 spend-credit amount=5.00 sale=5.00\n2026-09-22 spend-credit amount=10.00 sale=40.00");
        Assert.Equal("0.00", script.On("2026-09-22").MerchandiseCredit.ToString());
        script.When("2026-09-22 spend-credit amount=0.01 sale=40.00").ThenRefused(RefusalCode.MerchandiseExceedsCredit, "0.00");
    }

    [Fact]
    public void What_was_spent_or_taken_back_later_cannot_be_spent_before()
    {
        var script = Script.Given(LeftOver + "2026-09-28 spend-credit amount=11.00 sale=40.00");
        script.When("2026-09-22 @2026-09-30 spend-credit amount=4.01 sale=40.00").ThenRefused(RefusalCode.MerchandiseExceedsCredit, "4.00");
        // 45.00 less 25.00 and 20.00: none is left on the 26th, before the sale of the 28th.
        var returned = Script.Given(
            LeftOver + "2026-09-26 reverse-payment payment=A code=R01 reason=bank\n2026-09-26 reverse-payment payment=B code=R01 reason=bank\n"
            + "2026-09-29 pay amount=45.00 method=cash");
        Assert.Equal("15.00", returned.On("2026-09-29").MerchandiseCredit.ToString());
        returned.When("2026-09-22 @2026-09-30 spend-credit amount=1.00 sale=40.00").ThenRefused(RefusalCode.MerchandiseExceedsCredit, "0.00");
        returned.When("2026-09-29 @2026-09-30 spend-credit amount=15.00 sale=40.00").ThenAccepted();
    }

    [Fact]
    public void What_is_not_there_today_cannot_be_spent_on_a_day_to_come()
    {
        var script = Script.Given(LeftOver.Replace("2026-09-20 exchange", "2026-09-20 @2026-09-10 exchange", StringComparison.Ordinal));
        script.When("2026-09-21 @2026-09-10 spend-credit amount=1.00 sale=40.00").ThenRefused(RefusalCode.MerchandiseExceedsCredit, "0.00");
        script.When("2026-09-21 @2026-09-20 spend-credit amount=1.00 sale=40.00").ThenAccepted();
    }

    [Theory]
    [InlineData("", "owned")]
    [InlineData("2026-11-03 hold reason=r", "on-hold")]
    [InlineData("2026-11-03 return", "returned")]
    [InlineData("2026-11-03 report-loss kind=lost", "lost")]
    [InlineData("2026-11-03 step-up share=1.00 sale=2000.00", "stepped-up")]
    public void It_is_credit_at_the_shop_whatever_became_of_the_contract(string ends, string status)
    {
        var script = Script.Given((ends.Length == 0 ? LeftOver : StillRuns) + ends);
        Assert.Equal(status, script.On("2026-11-03").Status);
        script.When("2026-11-04 spend-credit amount=15.00 sale=40.00").ThenAccepted();
        Assert.Equal((status, "0.00", "30.00"), (script.On("2026-11-04").Status, script.On("2026-11-04").MerchandiseCredit.ToString(), script.On("2026-11-04").Equity.ToString()));
    }

    [Fact]
    public void What_the_bank_takes_back_after_it_was_spent_is_not_asked_back_until_rent_credit_grows_again()
    {
        var script = Script.Given(StillRuns + TakenBackAfterwards);
        var account = script.On("2026-11-06");
        // 45.00 and 38.00 of rent are open again: nothing is added for what was spent.
        Assert.Equal(("0.00", "0.00", "83.00"), (account.MerchandiseCredit.ToString(), account.Equity.ToString(), account.PastDue.ToString()));
        script.When("2026-11-06 spend-credit amount=0.01 sale=40.00").ThenRefused(RefusalCode.MerchandiseExceedsCredit, "0.00");
        // 12.00 paid: 12.00 left over at the exchange, 10.00 of it spent.
        script.When("2026-11-07 pay amount=12.00 method=cash").ThenAccepted();
        Assert.Equal(("2.00", "0.00"), (script.On("2026-11-07").MerchandiseCredit.ToString(), script.On("2026-11-07").Equity.ToString()));
        // All paid: 83.00 of credit, 30.00 of it the instrument's, 10.00 spent.
        script.When("2026-11-08 pay amount=71.00 method=cash").ThenAccepted();
        Assert.Equal(("43.00", "30.00", "owned"), (script.On("2026-11-08").MerchandiseCredit.ToString(), script.On("2026-11-08").Equity.ToString(), script.On("2026-11-08").Status));
    }

    [Fact]
    public void The_books_move_it_to_the_sale() =>
        BookScript.Given(LeftOver)
            .When("2026-09-22 spend-credit amount=12.00 sale=40.00")
            .ThenLines(
            """
            2026-09-22 MerchandiseCredit Spent 12.00
            2026-09-22 StepUpCredit Spent -12.00
            """)
            .ThenBalance("2026-09-22", BookAccount.MerchandiseCredit, "-3.00")
            .ThenBalance("2026-09-22", BookAccount.MerchandiseCreditGiven, "15.00");

    [Fact]
    public void The_books_never_take_back_what_was_spent()
    {
        var books = BookScript.Given(StillRuns + TakenBackAfterwards)
            .ThenBalance("2026-11-05", BookAccount.MerchandiseCredit, "-5.00")
            .ThenBalance("2026-11-06", BookAccount.MerchandiseCredit, "0.00")
            .ThenBalance("2026-11-06", BookAccount.MerchandiseCreditGiven, "10.00")
            .ThenBalance("2026-11-06", BookAccount.StepUpCredit, "-10.00");
        // 6.00 of the 10.00 come again: nothing more is given for them.
        books.When("2026-11-07 pay amount=6.00 method=cash").ThenBalance("2026-11-07", BookAccount.MerchandiseCreditGiven, "10.00");
        books.When("2026-11-08 pay amount=6.00 method=cash")
            .ThenBalance("2026-11-08", BookAccount.MerchandiseCreditGiven, "12.00")
            .ThenBalance("2026-11-08", BookAccount.MerchandiseCredit, "-2.00");
    }

    [Fact]
    public void The_reason_takes_every_sale_off_and_says_that_none_is_asked_back()
    {
        var spent = Why(LeftOver + "2026-09-22 spend-credit amount=5.00 sale=5.00\n2026-09-23 spend-credit amount=4.00 sale=40.00", "2026-09-24");
        Assert.Equal(("6.00", "money.md M84, Spending merchandise credit"), (spent.Value, spent.Citation));
        var rest = spent.Parts[1];
        Assert.Equal((Combination.Difference, "6.00"), (rest.How, rest.Value));
        Assert.Equal(["15.00", "5.00 L5", "4.00 L6"], rest.Parts.Select(part => $"{part.Value} {part.Event?.Key}".Trim()));
        var over = Why(StillRuns + TakenBackAfterwards, "2026-11-06");
        Assert.Equal(("0.00", Combination.Highest, "-10.00"), (over.Value, over.How, over.Parts[1].Value));
        // The day before the sale there is nothing to take off.
        Assert.Equal("money.md M47, Equity and merchandise credit", Why(LeftOver + "2026-09-22 spend-credit amount=5.00 sale=5.00", "2026-09-21").Citation);
    }

    [Fact]
    public void Two_views_and_a_supposition_tell_the_sale()
    {
        var shop = Script.Given(LeftOver + "2026-09-22 spend-credit amount=12.00 sale=40.00").Shop;
        var comparison = Comparison.Of(View(shop, "2026-09-21"), View(shop, "2026-09-22"), InMemoryShop.Zone)!;
        var (cause, amount) = Assert.Single(Assert.Single(comparison.Figures).Because);
        Assert.Equal(("12.00 of merchandise credit spent on a better one", -1200), (cause.Says, amount));
        // Without the exchange there would have been nothing to spend; it stays, and is questioned.
        var (answer, _) = Supposition.Ask(shop, "2026-09-25", """{"remove":"L4"}""");
        Assert.Equal("merchandise-exceeds-credit", Assert.Single(answer!.Facts, fact => fact.Fact.Key == "L5").Refusal!.Slug);
        Assert.Contains(answer.Figures, figure => figure is { Figure: "merchandiseCredit", Before: 300, After: 0 });
    }

    [Fact]
    public void Every_invariant_holds_after_every_event_and_another_figure_breaks_one()
    {
        var shop = new MemoryShop(InMemoryShop.Zone);
        foreach (var (command, _, _) in Script.Given(StillRuns + TakenBackAfterwards).Shop.Accepted)
        {
            Assert.Null(shop.Apply(Encoding.UTF8.GetBytes(command.ToJsonString())));
        }

        Assert.Empty(Invariants.Watch(shop.Histories.Single(), shop.Reference, new LocalDate(2026, 12, 1)));
        var life = Script.Given(LeftOver + "2026-09-22 spend-credit amount=12.00 sale=40.00").Shop;
        var state = Contracts.History.AccountFold.At(life.History("C-1"), life.RatesAt(Instant.MaxValue), new LocalDate(2026, 9, 22))!;
        var account = Account.Of(state, default);
        Assert.Empty(Invariants.Of(state, account));
        foreach (var wrong in new[] { 299, 301, 1500 })
        {
            Assert.Equal("rent-credit", Assert.Single(Invariants.Of(state, account with { MerchandiseCredit = new Money(wrong) })).Invariant);
        }
    }

    [Theory]
    [InlineData("""{"do":"spend-credit","key":"k","contract":"C-1","on":"2026-09-02","amount":"1.00"}""", "sale")]
    [InlineData("""{"do":"spend-credit","key":"k","contract":"C-1","on":"2026-09-02","amount":"1.00","sale":{"description":"d"}}""", "sale.price")]
    [InlineData("""{"do":"spend-credit","key":"k","contract":"C-1","on":"2026-09-02","amount":"1.00","sale":{"price":"1.00"}}""", "sale.description")]
    [InlineData("""{"do":"spend-credit","key":"k","contract":"C-1","on":"2026-09-02","sale":{"description":"d","price":"1.00"}}""", "amount")]
    public void A_sale_is_named_and_priced(string line, string field)
    {
        var (_, refusal) = CommandReader.Read(Encoding.UTF8.GetBytes(line));
        Assert.Equal((RefusalCode.FieldMissing, field), (refusal!.Code, refusal.Field));
    }

    private static ExplainNode Why(string life, string on)
    {
        var shop = Script.Given(life).Shop;
        return Explanation.At(shop.History("C-1"), shop.RatesAt(Instant.MaxValue), LocalDatePattern.Iso.Parse(on).Value)!.Of("merchandiseCredit")!;
    }

    private static ComparedView View(InMemoryShop shop, string on) =>
        new(LocalDatePattern.Iso.Parse(on).Value, Instant.MaxValue, shop.History("C-1"), shop.RatesAt(Instant.MaxValue));

    /// <summary>The account but for how many events made it.</summary>
    private static string Text(Account account) => AccountText.Of(account with { Events = 0, LastSequence = 0, Known = default });
}
