using Contracts.Tests.Support;
using NodaTime;
using Xunit;

namespace Contracts.Tests.Rules;

/// <summary>What falls due, when, and with which parts.</summary>
public sealed class ScheduleTests
{
    private static Money M(string amount) => Money.Parse(amount);

    [Fact]
    public void Two_paid_installments_of_the_standard_terms_leave_thirty()
    {
        // 1195.00 - 45.00 = 1150.00 = 30 x 38.00 + 10.00: 31 monthly installments and the introductory one.
        var account = Script.Given("""
            2026-09-30 sign start=2026-10-05
            2026-10-05 pay amount=45.00 method=cash
            2026-12-05 pay amount=38.00 method=cash
            """).On("2026-12-31");
        Assert.Equal((32, 2, 2, 30), (account.Installments.Total, account.Installments.Due, account.Installments.Paid, account.Installments.Remaining));
        Assert.Equal(M("83.00"), account.Equity);
        Assert.Equal(M("1112.00"), account.RemainingToOwn);
        Assert.Equal(M("667.20"), account.EarlyPurchase.Price);
        Assert.Equal("terms", account.EarlyPurchase.Basis);
        Assert.Equal(new LocalDate(2027, 1, 5), account.NextDue!.On);
    }

    [Fact]
    public void Due_dates_are_counted_from_the_anchor_and_clamped_to_the_month()
    {
        var script = Script.Given("2026-01-31 sign intro=0x0.00 late=0.00/0");
        Assert.Equal(new LocalDate(2026, 2, 28), script.On("2026-01-31").NextDue!.On);
        Assert.Equal(new LocalDate(2026, 3, 31), script.On("2026-02-28").NextDue!.On);
        Assert.Equal(new LocalDate(2026, 4, 30), script.On("2026-03-31").NextDue!.On);
    }

    [Fact]
    public void The_last_installment_is_what_is_left_and_nothing_follows()
    {
        var script = Script.Given("2026-01-01 sign intro=0x0.00 price=100.00 rent=40.00 late=0.00/0");
        Assert.Equal(M("20.00"), script.On("2026-02-10").NextDue!.Amount);
        Assert.Null(script.On("2026-03-01").NextDue);
        Assert.Equal(M("100.00"), script.On("2030-01-01").PastDue);
    }

    [Fact]
    public void An_introductory_payment_is_at_most_the_whole_price() =>
        Assert.Equal(M("30.00"), Script.Given("2026-01-01 sign intro=2x45.00 price=30.00").On("2026-01-01").PastDue);

    [Fact]
    public void A_credit_share_lengthens_the_schedule()
    {
        // 1000.00 / 0.85 = 1176.470588...: 1176.47.
        var account = Script.Given("2026-01-01 sign price=1000.00 share=0.85 cash=900.00").On("2026-01-01");
        Assert.Equal(M("1176.47"), account.TotalCost);
        Assert.Equal(M("276.47"), account.CostOfRental);
    }

    [Fact]
    public void A_contract_is_signed_until_its_start_and_then_active()
    {
        var script = Script.Given("2026-09-01 sign start=2026-09-20");
        Assert.Equal("signed", script.On("2026-09-19").Status);
        Assert.Equal(Money.Zero, script.On("2026-09-19").PastDue);
        Assert.Equal(M("45.00"), script.On("2026-09-19").NextDue!.Amount);
        Assert.Equal("active", script.On("2026-09-20").Status);
        Assert.Equal(M("45.00"), script.On("2026-09-20").PastDue);
    }

    [Fact]
    public void The_plan_is_charged_with_the_rent_and_in_the_introductory_months_only_when_the_terms_say_so()
    {
        Assert.Equal(M("45.00"), Script.Given("2026-09-01 sign elected=yes").On("2026-09-01").PastDue);
        Assert.Equal(M("59.00"), Script.Given("2026-09-01 sign elected=yes planInIntro=yes").On("2026-09-01").PastDue);
        Assert.Equal(M("45.00"), Script.Given("2026-09-01 sign elected=yes").On("2026-11-01").NextDue!.Amount);
    }

    [Fact]
    public void The_last_choice_of_plan_on_a_due_date_decides()
    {
        var script = Script.Given("""
            2026-09-01 sign intro=0x0.00
            2026-10-01 elect-plan
            2026-11-01 cancel-plan
            2026-11-01 elect-plan
            2026-12-01 elect-plan
            2026-12-01 cancel-plan
            """);
        string Parts(string day) => string.Join(' ', script.On("2026-12-01").OpenItems
            .Where(item => item.DueOn.ToString("uuuu-MM-dd", null) == day && item.Kind == "installment").Select(item => item.Part));
        Assert.Equal("rent", Parts("2026-09-01"));
        Assert.Equal("rent plan", Parts("2026-10-01"));
        Assert.Equal("rent plan", Parts("2026-11-01"));
        Assert.Equal("rent", Parts("2026-12-01"));
    }

    [Fact]
    public void Tax_is_rounded_part_by_part_half_away_from_zero()
    {
        // 8 % of 38.06 is 3.0448 and of 7.06 is 0.5648: 3.04 + 0.56, where the sum in one piece would be 3.61.
        var account = Script.Given("2026-09-01 sign intro=0x0.00 rent=38.06 plan=7.06 elected=yes area=taxed").On("2026-09-01");
        Assert.Equal(M("3.60"), account.OpenItems.Single(item => item.Part == "tax").Charged);
    }

    [Fact]
    public void A_move_brings_the_new_rate_on_the_day_itself()
    {
        var script = Script.Given("""
            2026-09-01 sign intro=0x0.00 late=0.00/0
            2026-10-01 move state=OR jurisdiction=taxed
            """);
        Assert.Equal(M("38.00"), script.On("2026-09-30").NextDue!.Amount);
        Assert.Equal(M("79.04"), script.On("2026-10-01").PastDue);
    }

    [Fact]
    public void Accessories_are_one_sale_on_the_day_of_signing()
    {
        // 8 % of 12.34 is 0.9872.
        var account = Script.Given("2026-09-01 sign start=2026-09-10 area=taxed accessories=12.34").On("2026-09-01");
        Assert.Equal(["tax 0.99", "price 12.34"], account.OpenItems.Select(item => $"{item.Part} {item.Open}"));
    }

    [Fact]
    public void Nothing_falls_due_on_the_day_of_a_return_or_a_hold_but_on_that_of_a_release()
    {
        Assert.Equal(Money.Zero, Script.Given("2026-09-01 sign intro=0x0.00 start=2026-09-10\n2026-09-10 return").On("2026-09-10").PastDue);
        var held = Script.Given("""
            2026-09-01 sign intro=0x0.00 late=0.00/0
            2026-10-01 hold reason=summer
            2026-11-01 release
            """);
        Assert.Equal(M("38.00"), held.On("2026-10-01").PastDue);
        Assert.Equal(M("76.00"), held.On("2026-11-01").PastDue);
    }
}
