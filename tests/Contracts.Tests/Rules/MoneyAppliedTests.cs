using Contracts.Tests.Support;
using Xunit;

namespace Contracts.Tests.Rules;

/// <summary>In which order money pays, what waits, what opens again, and which fees come and go.</summary>
public sealed class MoneyAppliedTests
{
    private static Money M(string amount) => Money.Parse(amount);

    [Fact]
    public void Money_pays_the_oldest_date_first_and_within_it_tax_then_rent_then_plan()
    {
        // Two installments of 8 % tax: 3.04 + 0.56 tax, 38.00 rent, 7.00 plan each.
        var script = Script.Given("""
            2026-09-01 sign intro=0x0.00 elected=yes area=taxed late=0.00/0 accessories=10.00
            2026-10-02 pay amount=50.00 method=cash
            """);
        // 50.00 pays the first installment's 48.60 and 1.40 of the second's tax.
        Assert.Equal(
            ["tax 2.20", "rent 38.00", "plan 7.00", "tax 0.80", "price 10.00"],
            script.On("2026-10-02").OpenItems.Select(item => $"{item.Part} {item.Open}"));
        Assert.Equal(M("38.00"), script.On("2026-10-02").Paid.Rent);
        Assert.Equal(M("7.00"), script.On("2026-10-02").Paid.Plan);
        Assert.Equal(M("5.00"), script.On("2026-10-02").Paid.Tax);
    }

    [Fact]
    public void What_is_too_much_waits_and_pays_the_next_installment_on_its_day()
    {
        var script = Script.Given("""
            2026-09-01 sign
            2026-09-01 pay amount=60.00 method=cash
            """);
        Assert.Equal(M("15.00"), script.On("2026-10-31").UnappliedCredit);
        Assert.Equal(M("0.00"), script.On("2026-11-01").UnappliedCredit);
        Assert.Equal(M("23.00"), script.On("2026-11-01").PastDue);
        Assert.Equal(M("60.00"), script.On("2026-11-01").Equity);
    }

    [Fact]
    public void Goodwill_pays_plan_tax_accessories_and_fees_but_never_rent()
    {
        var account = Script.Given("""
            2026-09-01 sign intro=0x0.00 elected=yes area=taxed accessories=10.00 late=0.00/0
            2026-09-01 credit amount=100.00 reason=goodwill
            """).On("2026-09-01");
        Assert.Equal(M("38.00"), account.PastDue);
        Assert.Equal(M("78.60"), account.GoodwillCredit);
        Assert.Equal(Money.Zero, account.Paid.Total);
        Assert.Equal(Money.Zero, account.Equity);
    }

    [Fact]
    public void A_late_fee_comes_the_day_after_grace_when_anything_is_still_unpaid()
    {
        var script = Script.Given("2026-09-01 sign\n2026-09-08 pay amount=44.99 method=cash");
        Assert.Equal(M("0.01"), script.On("2026-09-08").PastDue);
        Assert.Equal(M("5.01"), script.On("2026-09-09").PastDue);
        Assert.Equal("late:2026-09-01", script.On("2026-09-09").OpenItems[1].Id);
        Assert.Equal(M("5.01"), script.On("2026-10-30").PastDue);
    }

    [Fact]
    public void A_payment_on_the_last_day_of_grace_brings_no_late_fee() =>
        Assert.Equal(Money.Zero, Script.Given("2026-09-01 sign\n2026-09-08 pay amount=45.00 method=cash").On("2026-09-30").PastDue);

    [Fact]
    public void A_payment_recorded_late_takes_the_late_fee_away_and_says_why()
    {
        var script = Script.Given("""
            2026-09-01 sign
            2026-09-30 bill
            2026-09-05 @2026-10-03 pay amount=45.00 method=check
            """);
        Assert.Equal(M("50.00"), script.On("2026-09-30", known: "2026-10-02").PastDue);
        Assert.Equal(Money.Zero, script.On("2026-09-30", known: "2026-10-03").PastDue);
        Assert.Contains("FeeReversed 2026-09-09", script.Recorded());
        Assert.Equal("L3", script.Shop.History("C-1").Entries[^1].Cause);
    }

    [Fact]
    public void A_reversal_dated_inside_grace_brings_a_late_fee_and_says_why()
    {
        var script = Script.Given("""
            2026-09-01 sign returned=0.00
            2026-09-01 pay amount=45.00 method=check
            2026-09-06 @2026-09-20 reverse-payment payment=L2 code=R01 reason=bank
            """);
        Assert.Equal(M("50.00"), script.On("2026-09-09").PastDue);
        Assert.Equal(["Signed 2026-09-01", "PaymentReceived 2026-09-01", "PaymentReversed 2026-09-06", "FeeCharged 2026-09-09"], script.Recorded());
        Assert.Equal("L3", script.Shop.History("C-1").Entries[^1].Cause);
    }

    [Fact]
    public void A_reversal_after_grace_opens_the_rent_again_without_a_late_fee()
    {
        var script = Script.Given("""
            2026-09-01 sign
            2026-09-01 pay amount=45.00 method=check
            2026-09-20 reverse-payment payment=L2 code=R01 reason=bank
            """);
        Assert.Equal(M("65.00"), script.On("2026-10-15").PastDue);
        Assert.Equal(Money.Zero, script.On("2026-10-15").Equity);
        Assert.Equal(M("45.00"), script.On("2026-09-19").Equity);
    }

    [Fact]
    public void An_entry_error_brings_no_returned_payment_fee() =>
        Assert.Equal(M("45.00"), Script.Given("""
            2026-09-01 sign
            2026-09-01 pay amount=45.00 method=check
            2026-09-20 reverse-payment payment=L2 code=entry-error reason=keyed-twice
            """).On("2026-10-15").PastDue);

    [Fact]
    public void A_waived_fee_gives_its_money_back()
    {
        var script = Script.Given("""
            2026-09-01 sign
            2026-09-10 pay amount=50.00 method=cash
            2026-09-12 waive fee=late:2026-09-01 reason=kindness
            """);
        Assert.Equal(M("5.00"), script.On("2026-09-11").Paid.Fees);
        Assert.Equal(M("5.00"), script.On("2026-09-12").UnappliedCredit);
        Assert.Equal(Money.Zero, script.On("2026-09-12").Paid.Fees);
    }

    [Fact]
    public void A_taxed_fee_is_paid_tax_first_and_reversed_with_its_tax()
    {
        var script = Script.Given("""
            2026-09-01 sign intro=0x0.00 area=taxed
            2026-09-10 pay amount=41.54 method=cash
            2026-09-12 waive fee=late:2026-09-01 reason=kindness
            """);
        Assert.Equal(["tax 0.40", "fee 5.00"], script.On("2026-09-09").OpenItems.Skip(2).Select(item => $"{item.Part} {item.Open}"));
        Assert.Equal(["fee 4.90"], script.On("2026-09-10").OpenItems.Select(item => $"{item.Part} {item.Open}"));
        Assert.Equal(M("0.50"), script.On("2026-09-12").UnappliedCredit);
    }

    [Fact]
    public void A_refunded_payment_that_bounces_is_to_be_recovered()
    {
        var script = Script.Given("""
            2026-09-01 sign
            2026-09-01 pay amount=145.00 method=check
            2026-09-03 refund amount=100.00
            2026-09-10 reverse-payment payment=L2 code=R01 reason=bank
            """);
        var account = script.On("2026-09-10");
        Assert.Equal(M("165.00"), account.PastDue);
        Assert.Equal("refund-to-recover", account.OpenItems[^1].Kind);
        Assert.Equal(Money.Zero, script.When("2026-09-11 pay amount=165.00 method=cash").ThenAccepted().On("2026-09-11").PastDue);
        Assert.Equal(M("65.00"), script.On("2026-09-11").Paid.Total);
    }

    [Fact]
    public void Fees_of_one_day_are_paid_late_first_then_unreturned_then_by_sequence()
    {
        var script = Script.Given("""
            2026-09-01 sign price=300.00
            2026-09-01 pay amount=10.00 method=check
            2026-09-02 swap serial=HC-2 returnBy=2026-09-08
            2026-09-09 reverse-payment payment=L2 code=R01 reason=bank
            """);
        Assert.Equal(["installment", "late", "unreturned", "returned"], script.On("2026-09-09").OpenItems.Select(item => item.Kind));
    }
}
