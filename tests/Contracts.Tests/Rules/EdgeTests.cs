using Contracts.Agreements;
using Contracts.Tests.Support;
using NodaTime;
using Xunit;

namespace Contracts.Tests.Rules;

/// <summary>The edges of rules: exactly at the limit, and what a second rule makes of the first.</summary>
public sealed class EdgeTests
{
    private static Money M(string amount) => Money.Parse(amount);

    [Fact]
    public void A_command_may_be_dated_thirty_one_days_ahead_and_not_one_more() =>
        Script.Given("2026-09-01 sign")
            .When("2026-10-02 @2026-09-01 pay amount=1.00 method=cash").ThenAccepted()
            .When("2026-10-03 @2026-09-01 pay amount=1.00 method=cash").ThenRefused(RefusalCode.OnTooFarAhead, "2026-10-02");

    [Fact]
    public void Goodwill_goes_before_money_and_never_pays_a_loss_or_a_purchase()
    {
        var lost = Script.Given("""
            2026-09-01 sign intro=0x0.00 late=0.00/0
            2026-09-01 pay amount=38.00 method=cash
            2026-09-02 credit amount=900.00 reason=goodwill
            2026-09-03 report-loss kind=lost
            """).On("2026-09-03");
        Assert.Equal((M("694.20"), M("900.00"), "lost"), (lost.PastDue, lost.GoodwillCredit, lost.Status));

        // A plan of 7.00 and its rent of 38.00 fall due; 7.00 of goodwill pay the plan, so 7.00 of the money are left.
        var both = Script.Given("""
            2026-09-01 sign intro=0x0.00 elected=yes start=2026-09-05
            2026-09-01 pay amount=45.00 method=cash
            2026-09-01 credit amount=7.00 reason=goodwill
            """).On("2026-09-05");
        Assert.Equal((M("7.00"), M("0.00"), M("38.00"), M("0.00")), (both.UnappliedCredit, both.GoodwillCredit, both.Paid.Total, both.Paid.Plan));
    }

    [Fact]
    public void Goodwill_comes_back_when_its_fee_is_waived() =>
        Assert.Equal(M("5.00"), Script.Given("""
            2026-09-01 sign
            2026-09-10 credit amount=5.00 reason=goodwill
            2026-09-11 waive fee=late:2026-09-01 reason=kindness
            """).On("2026-09-11").GoodwillCredit);

    [Fact]
    public void A_purchase_that_waiting_credit_covers_brings_no_money()
    {
        var script = Script.Given("""
            2026-09-01 sign price=100.00 rent=40.00 intro=0x0.00 tiers=*:0.50
            2026-09-01 pay amount=90.00 method=cash
            2026-09-02 buy amount=0.00 method=cash
            """);
        // 40.00 of 100.00 paid; 60.00 less half = 30.00; 50.00 wait and 20.00 are left.
        Assert.Equal(("owned", M("20.00"), M("30.00")), (script.On("2026-09-02").Status, script.On("2026-09-02").UnappliedCredit, script.On("2026-09-02").Paid.Purchase));
    }

    [Fact]
    public void A_purchase_that_proves_too_dear_leaves_credit()
    {
        // A payment of 38.00 for the rent of 1 October turns up: the family paid it again with the purchase.
        var account = Script.Given("""
            2026-09-01 sign intro=0x0.00 late=0.00/0
            2026-09-01 pay amount=38.00 method=cash
            2026-10-01 buy amount=709.40 method=card
            2026-10-01 @2026-10-08 pay amount=38.00 method=check
            """).On("2026-10-08");
        Assert.Equal(("owned", M("38.00"), Money.Zero), (account.Status, account.UnappliedCredit, account.PastDue));
    }

    [Fact]
    public void Each_set_of_terms_credits_its_own_share_rounded_once()
    {
        // 45.01 x 0.5 = 22.505 -> 22.51, then 30.01 x 0.85 = 25.5085 -> 25.51.
        var script = Script.Given("""
            2026-09-01 sign share=0.5 intro=1x45.01 late=0.00/0
            2026-09-01 pay amount=45.01 method=cash
            2026-09-15 exchange price=1000.00 share=0.85 rent=30.01 late=0.00/0
            2026-10-01 pay amount=30.01 method=cash
            """);
        Assert.Equal(M("22.51"), script.On("2026-09-15").CarriedEquity);
        Assert.Equal(M("48.02"), script.On("2026-10-01").Equity);
        // (1000.00 - 22.51) / 0.85 = 1149.988... -> 1149.99 of rent.
        Assert.Equal(M("1149.99"), script.On("2026-09-15").RemainingBySchedule);
        Assert.Equal(M("1176.47"), script.On("2026-09-15").TotalCost);
    }

    [Fact]
    public void After_an_exchange_the_ceiling_counts_from_zero_equity_under_the_new_terms()
    {
        // 600.00 at 30.00 with two months for 45.00 needs 1 + 19 installments; 480.00 are left, 16 to come: 600 x 16 / 20.
        var account = Script.Given("""
            2026-09-01 sign state=HI price=1000.00 rent=60.00 intro=0x0.00 late=0.00/0
            2026-09-01 pay amount=120.00 method=cash
            2026-10-05 exchange price=600.00 rent=30.00 tiers=
            """).On("2026-10-05");
        Assert.Equal((16, M("480.00")), (account.Installments.Remaining, account.EarlyPurchase.Price));
        Assert.Equal("terms", account.EarlyPurchase.Basis);
    }

    [Fact]
    public void A_unit_back_one_day_late_was_charged_for_that_day()
    {
        var script = Script.Given("""
            2026-09-05 sign
            2026-09-05 pay amount=45.00 method=cash
            2026-09-10 swap serial=HC-2 returnBy=2026-09-20
            2026-09-12 return
            2026-09-21 receive-unit serial=HC-1
            """);
        Assert.Equal(Money.Zero, script.On("2026-09-21").PastDue);
        Assert.Equal(M("690.00"), Script.Given("""
            2026-09-05 sign
            2026-09-05 pay amount=45.00 method=cash
            2026-09-10 swap serial=HC-2 returnBy=2026-09-20
            2026-09-12 return
            """).On("2026-09-21").PastDue);
    }

    [Fact]
    public void A_return_after_a_hold_can_be_undone_with_another_unit()
    {
        var script = Script.Given("""
            2026-01-05 sign intro=0x0.00 late=0.00/0
            2026-01-05 pay amount=38.00 method=cash
            2026-01-20 hold reason=moving
            2026-03-01 return
            2026-03-20 reinstate serial=HC-5
            """);
        Assert.Equal(("active", "HC-5", new LocalDate(2026, 4, 5)), (script.On("2026-03-20").Status, script.On("2026-03-20").Serial, script.On("2026-03-20").NextDue!.On));
    }

    [Fact]
    public void A_loss_before_the_start_that_is_found_cancels() =>
        Assert.Equal("cancelled", Script.Given("""
            2026-09-01 sign start=2026-09-20
            2026-09-05 report-loss kind=stolen
            2026-09-10 return
            """).On("2026-10-01").Status);

    [Fact]
    public void What_is_overtaken_is_listed_as_such()
    {
        var script = Script.Given("""
            2026-01-01 sign intro=0x0.00 price=76.00 late=0.00/0
            2026-02-10 return
            2026-02-01 @2026-02-20 pay amount=76.00 method=check
            """);
        var state = History.AccountFold.At(script.Shop.History("C-1"), script.Shop.RatesAt(Instant.MaxValue), new LocalDate(2026, 3, 1))!;
        Assert.Equal(["Returned"], state.History.Facts.Where(fact => state.IsOvertaken(fact.Sequence)).Select(fact => fact.Event.GetType().Name));
    }
}
