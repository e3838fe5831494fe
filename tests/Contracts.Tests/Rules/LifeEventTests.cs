using Contracts.Agreements;
using Contracts.Tests.Support;
using NodaTime;
using Xunit;

namespace Contracts.Tests.Rules;

/// <summary>What ends or changes a contract, to the cent.</summary>
public sealed class LifeEventTests
{
    private static Money M(string amount) => Money.Parse(amount);

    [Fact]
    public void An_exchange_keeps_equity_and_shortens_the_new_schedule()
    {
        var script = Script.Given("""
            2026-09-05 sign
            2026-09-05 pay amount=45.00 method=cash
            2026-11-05 pay amount=38.00 method=cash
            2026-11-20 exchange price=1512.00 rent=42.00
            """);
        var account = script.On("2026-11-20");
        // 1512.00 - 83.00 = 1429.00 = 34 x 42.00 + 1.00.
        Assert.Equal((M("83.00"), M("83.00"), M("1429.00"), 35), (account.Equity, account.CarriedEquity, account.RemainingToOwn, account.Installments.Remaining));
        Assert.Equal((new LocalDate(2026, 12, 5), M("42.00")), (account.NextDue!.On, account.NextDue.Amount));
        Assert.Equal(M("1512.00"), account.TotalCost);
    }

    [Fact]
    public void An_exchange_counts_past_due_rent_as_if_paid_and_leaves_it_due()
    {
        var script = Script.Given("""
            2026-09-05 sign late=0.00/0
            2026-11-20 exchange price=200.00 rent=40.00
            """);
        var account = script.On("2026-11-20");
        Assert.Equal((M("83.00"), Money.Zero, M("117.00")), (account.PastDue, account.Equity, account.RemainingBySchedule - account.PastDue));
    }

    [Fact]
    public void Equity_above_the_new_price_becomes_merchandise_credit_and_ownership()
    {
        var account = Script.Given("""
            2026-09-05 sign
            2026-09-05 pay amount=45.00 method=cash
            2026-09-20 exchange price=30.00 rent=10.00
            """).On("2026-09-20");
        Assert.Equal(("owned", M("30.00"), M("15.00"), Money.Zero), (account.Status, account.Equity, account.MerchandiseCredit, account.RemainingToOwn));
    }

    [Fact]
    public void A_swapped_unit_that_does_not_come_back_costs_the_price_told_at_the_swap()
    {
        var script = Script.Given("""
            2026-09-05 sign
            2026-09-05 pay amount=45.00 method=cash
            2026-09-10 swap serial=HC-2 returnBy=2026-09-20
            """);
        Assert.Equal(Money.Zero, script.On("2026-09-20").PastDue);
        Assert.Equal(M("690.00"), script.On("2026-09-21").PastDue);
        script.When("2026-09-25 receive-unit serial=HC-1").ThenAccepted();
        Assert.Equal(M("690.00"), script.On("2026-09-24").PastDue);
        Assert.Equal(Money.Zero, script.On("2026-09-25").PastDue);
        Assert.Equal("HC-2", script.On("2026-09-25").Serial);
    }

    [Fact]
    public void A_unit_back_on_the_last_day_costs_nothing() =>
        Assert.Equal(Money.Zero, Script.Given("""
            2026-09-05 sign
            2026-09-05 pay amount=45.00 method=cash
            2026-09-10 swap serial=HC-2 returnBy=2026-09-20
            2026-09-20 receive-unit serial=HC-1
            """).On("2026-10-10").PastDue);

    [Fact]
    public void A_return_stops_what_comes_but_not_what_is_owed()
    {
        var account = Script.Given("2026-09-05 sign\n2026-11-20 return").On("2027-03-01");
        // 45.00 and 38.00 with a late fee each; nothing from December on.
        Assert.Equal(("returned", M("93.00"), 0), (account.Status, account.PastDue, account.Installments.Remaining));
        Assert.Equal(("none", Money.Zero, M("93.00")), (account.EarlyPurchase.Basis, account.EarlyPurchase.Price, account.EarlyPurchase.Payoff));
    }

    [Fact]
    public void A_return_before_the_start_cancels() =>
        Assert.Equal("cancelled", Script.Given("2026-09-05 sign start=2026-09-20\n2026-09-19 return").On("2026-12-01").Status);

    [Fact]
    public void A_hold_moves_the_schedule_by_whole_months_and_the_discounts_with_it()
    {
        var script = Script.Given("""
            2026-01-31 sign intro=0x0.00 late=0.00/0 tiers=3:0.50
            2026-01-31 pay amount=38.00 method=cash
            2026-02-10 hold reason=moving
            2026-04-15 release
            """);
        // February's slot would be 28 Feb; the first of its month steps on or after 15 Apr is 30 Apr, two months on.
        Assert.Equal(new LocalDate(2026, 4, 30), script.On("2026-04-15").NextDue!.On);
        Assert.Null(script.On("2026-04-14").NextDue);
        Assert.Equal("on-hold", script.On("2026-04-14").Status);
        // The half price would have ended on 30 Apr; it ends two months later. 1195.00 - 38.00 = 1157.00; past due rent
        // counts as paid: 30 Apr and 30 May leave 1157.00 - 76.00 = 1081.00, and 30 Jun 1043.00.
        Assert.Equal(M("540.50"), script.On("2026-06-29").EarlyPurchase.Price);
        Assert.Equal(M("1043.00"), script.On("2026-06-30").EarlyPurchase.Price);
    }

    [Fact]
    public void A_return_can_be_undone_within_thirty_days()
    {
        var script = Script.Given("""
            2026-09-05 sign
            2026-09-05 pay amount=45.00 method=cash
            2026-10-20 return
            2026-11-19 reinstate
            """);
        Assert.Equal((new LocalDate(2026, 12, 5), "active", M("45.00")), (script.On("2026-11-19").NextDue!.On, script.On("2026-11-19").Status, script.On("2026-11-19").Equity));
    }

    [Fact]
    public void An_early_purchase_settles_everything()
    {
        var script = Script.Given("""
            2026-09-05 sign area=taxed
            2026-09-06 buy amount=793.80 method=card
            """);
        // Past due 45.00 + 3.60; (1195.00 - 45.00) x 0.60 = 690.00, tax 55.20.
        var account = script.On("2026-09-06");
        Assert.Equal(("owned", M("690.00"), M("45.00"), M("58.80")), (account.Status, account.Paid.Purchase, account.Paid.Rent, account.Paid.Tax));
        Assert.Equal((Money.Zero, Money.Zero, Money.Zero), (account.PastDue, account.UnappliedCredit, account.RemainingToOwn));
        Assert.Contains("OwnershipTransferred 2026-09-06", script.Recorded());
    }

    [Fact]
    public void A_purchase_whose_payment_bounces_runs_again_as_if_held()
    {
        var script = Script.Given("""
            2026-09-05 sign returned=0.00
            2026-09-05 pay amount=45.00 method=cash
            2026-10-20 buy amount=690.00 method=check
            2026-12-10 reverse-payment payment=L3 code=R01 reason=bank
            """);
        Assert.Equal("owned", script.On("2026-12-09").Status);
        var account = script.On("2026-12-10");
        Assert.Equal(("active", Money.Zero, new LocalDate(2027, 1, 5)), (account.Status, account.PastDue, account.NextDue!.On));
    }

    [Fact]
    public void A_lost_instrument_is_owned_once_its_charge_is_paid()
    {
        var script = Script.Given("""
            2026-09-05 sign
            2026-09-05 pay amount=45.00 method=cash
            2026-09-06 report-loss kind=lost
            2026-09-20 pay amount=690.00 method=cash
            """);
        Assert.Equal(("lost", M("690.00")), (script.On("2026-09-06").Status, script.On("2026-09-06").PastDue));
        Assert.Equal(("owned", M("690.00")), (script.On("2026-09-20").Status, script.On("2026-09-20").Paid.Purchase));
    }

    [Fact]
    public void A_lost_instrument_that_is_found_takes_its_charge_back()
    {
        var account = Script.Given("""
            2026-09-05 sign
            2026-09-05 pay amount=45.00 method=cash
            2026-09-06 report-loss kind=lost
            2026-09-20 return
            """).On("2026-09-20");
        Assert.Equal(("returned", Money.Zero), (account.Status, account.PastDue));
    }

    [Fact]
    public void Paying_to_the_end_owns_on_the_day_the_last_rent_is_paid()
    {
        var script = Script.Given("""
            2026-01-01 sign intro=0x0.00 price=100.00 rent=40.00 late=0.00/0
            2026-01-01 pay amount=120.00 method=cash
            """);
        Assert.Equal("active", script.On("2026-02-28").Status);
        Assert.Equal(("owned", M("20.00"), M("100.00")), (script.On("2026-03-01").Status, script.On("2026-03-01").UnappliedCredit, script.On("2026-03-01").Equity));
    }

    [Fact]
    public void A_step_up_ends_the_contract_and_keeps_the_figures_of_a_return()
    {
        var script = Script.Given("""
            2026-09-05 sign
            2026-09-05 pay amount=45.00 method=cash
            2026-10-10 step-up share=0.5 sale=2000.00
            """);
        Assert.Equal(("stepped-up", M("45.00"), "none"), (script.On("2026-10-10").Status, script.On("2026-10-10").Equity, script.On("2026-10-10").EarlyPurchase.Basis));
        var step = script.Shop.History("C-1").Facts.Select(fact => fact.Event).OfType<ContractEvent.SteppedUp>().Single();
        Assert.Equal(M("22.50"), step.Credit);
    }

    [Fact]
    public void What_is_written_off_is_still_owed()
    {
        var account = Script.Given("""
            2026-09-05 sign late=0.00/0
            2026-10-10 return
            2027-02-01 write-off amount=45.00
            2027-03-01 recover amount=20.00
            """).On("2027-03-01");
        Assert.Equal(("written-off", M("45.00"), Money.Zero), (account.Status, account.PastDue, account.Paid.Total));
    }

    [Fact]
    public void An_event_that_later_knowledge_makes_impossible_is_overtaken_and_its_money_counts()
    {
        var script = Script.Given("""
            2026-01-01 sign intro=0x0.00 price=76.00 late=0.00/0
            2026-02-10 return
            2026-02-01 @2026-02-20 pay amount=76.00 method=check
            """);
        Assert.Equal("returned", script.On("2026-02-10", known: "2026-02-19").Status);
        Assert.Equal("owned", script.On("2026-02-10").Status);
    }

    [Fact]
    public void A_unit_that_goes_out_again_has_to_come_back_again()
    {
        var script = Script.Given("""
            2026-01-05 sign price=360.00 rent=30.00 intro=0x0.00 tiers= late=0.00/0
            2026-01-05 pay amount=30.00 method=cash
            2026-01-20 return
            2026-01-20 receive-unit serial=HC-1
            2026-01-25 reinstate
            2026-02-05 pay amount=30.00 method=cash
            2026-02-15 swap serial=HC-2 returnBy=2026-02-20
            """);
        Assert.Equal(M("300.00"), script.On("2026-02-21").PastDue);
    }

    [Fact]
    public void A_move_on_the_day_of_a_sale_brings_its_rate()
    {
        Assert.Equal(M("53.50"), Script.Given("""
            2026-01-05 sign start=2026-02-01 accessories=50.00
            2026-01-05 move state=OR jurisdiction=sale-only
            """).On("2026-01-05").PastDue);
    }
}
