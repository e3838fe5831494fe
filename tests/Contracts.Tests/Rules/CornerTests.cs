using Contracts.Agreements;
using Contracts.Terms;
using Contracts.Tests.Support;
using NodaTime;
using Xunit;

namespace Contracts.Tests.Rules;

/// <summary>Rules that a wrong line once slipped past: each was found by breaking the rule on purpose.</summary>
public sealed class CornerTests
{
    private static Money M(string amount) => Money.Parse(amount);

    [Fact]
    public void Accessories_are_paid_before_fees() =>
        Assert.Equal(
            ["installment", "accessories", "late"],
            Script.Given("2026-09-01 sign accessories=10.00").On("2026-09-09").OpenItems.Select(item => item.Kind));

    [Fact]
    public void Hawaii_has_no_floor_of_one_payment()
    {
        // 360.00 x 1 / 36 = 10.00, below one rent of 20.00.
        var lines = Enumerable.Range(0, 35).Select(month => $"{new LocalDate(2020, 1, 15).PlusMonths(month):uuuu-MM-dd} pay amount=20.00 method=cash");
        var script = Script.Given(
            "2020-01-15 sign state=HI cash=360.00 price=720.00 rent=20.00 intro=0x0.00 tiers= late=0.00/0\n" + string.Join('\n', lines));
        Assert.Equal((M("10.00"), "Haw. Rev. Stat. § 481M-6"), (script.On("2022-11-16").EarlyPurchase.Price, script.On("2022-11-16").EarlyPurchase.Basis));
    }

    [Fact]
    public void What_an_exchange_left_as_merchandise_credit_is_not_equity_again()
    {
        // 45.00 of credit, 30.00 carried, 15.00 left; with 20.00 taken back, 25.00 - 15.00 remain.
        var script = Script.Given("""
            2026-09-01 sign returned=0.00
            2026-09-01 pay amount=25.00 method=cash
            2026-09-01 pay amount=20.00 method=check
            2026-09-20 exchange price=30.00 rent=10.00 returned=0.00
            2026-09-25 reverse-payment payment=L3 code=R01 reason=bank
            """);
        Assert.Equal((M("30.00"), M("15.00")), (script.On("2026-09-24").Equity, script.On("2026-09-24").MerchandiseCredit));
        Assert.Equal((M("10.00"), M("15.00")), (script.On("2026-09-25").Equity, script.On("2026-09-25").MerchandiseCredit));
    }

    [Fact]
    public void A_refund_takes_the_oldest_money()
    {
        var account = Script.Given("""
            2026-09-01 sign returned=0.00
            2026-09-01 pay amount=145.00 method=cash
            2026-09-02 pay amount=50.00 method=check
            2026-09-03 refund amount=100.00
            2026-09-04 reverse-payment payment=L3 code=R01 reason=bank
            """).On("2026-09-04");
        Assert.Equal((Money.Zero, Money.Zero), (account.PastDue, account.UnappliedCredit));
    }

    [Fact]
    public void A_refund_dated_back_cannot_take_what_later_rent_has_used() =>
        Script.Given("2026-09-01 sign\n2026-09-01 pay amount=145.00 method=cash")
            .When("2026-09-05 @2026-12-01 refund amount=24.01").ThenRefused(RefusalCode.RefundExceedsCredit, "24.00")
            .When("2026-09-05 @2026-12-01 refund amount=24.00").ThenAccepted();

    [Fact]
    public void Of_two_rates_from_one_day_the_last_recorded_holds()
    {
        var day = new LocalDate(2026, 9, 1);
        var rates = ReferenceData.None
            .With("a", new TaxEntry(day, Rate.Parse("0.08"), TaxedParts.None))
            .With("a", new TaxEntry(day, Rate.Parse("0.09"), TaxedParts.None));
        Assert.Equal(Rate.Parse("0.09"), rates.On("a", day).Rate);
        Assert.Equal(Rate.Nothing, rates.On("a", day.PlusDays(-1)).Rate);
    }

    [Theory]
    [InlineData("swap serial=HC-2 returnBy=2026-10-20")]
    [InlineData("exchange price=600.00 rent=20.00")]
    [InlineData("return")]
    [InlineData("report-loss kind=lost")]
    [InlineData("hold reason=summer")]
    [InlineData("step-up share=1 sale=2000.00")]
    public void What_orders_a_life_is_never_slipped_in_before_what_does(string later) =>
        Script.Given($"2026-09-01 sign\n2026-10-10 {later}")
            .When("2026-10-05 @2026-10-11 return").ThenRefused(RefusalCode.LaterEvent, "2026-10-10");

    [Fact]
    public void A_purchase_that_proves_too_little_leaves_its_price_open_after_rent_and_fees()
    {
        // The rent's own payment proves void on the 15th: of 690.00, 45.00 go to rent and 20.00 to the fee.
        var account = Script.Given("""
            2026-09-01 sign
            2026-09-01 pay amount=45.00 method=check
            2026-10-01 buy amount=690.00 method=card
            2026-09-15 @2026-10-05 reverse-payment payment=L2 code=R01 reason=bank
            """).On("2027-01-31");
        Assert.Equal("owned", account.Status);
        Assert.Equal(["purchase price 65.00"], account.OpenItems.Select(item => $"{item.Kind} {item.Part} {item.Open}"));
    }

    [Fact]
    public void A_waiver_holds_when_its_fee_goes_and_comes_back()
    {
        var script = Script.Given("""
            2026-09-01 sign returned=0.00
            2026-09-12 waive fee=late:2026-09-01 reason=kindness
            2026-09-05 @2026-09-20 pay amount=45.00 method=check
            2026-09-06 @2026-09-25 reverse-payment payment=L3 code=R01 reason=bank
            """);
        Assert.Equal(M("50.00"), script.On("2026-09-10").PastDue);
        Assert.Equal(M("45.00"), script.On("2026-09-12").PastDue);
        script.When("2026-09-26 waive fee=late:2026-09-01 reason=again").ThenRefused(RefusalCode.FeeAlreadyWaived);
    }
}
