using Contracts.Tests.Support;
using NodaTime;
using Xunit;

namespace Contracts.Tests.Rules;

/// <summary>Several things on one day, and the notes that are kept of it.</summary>
public sealed class SameDayTests
{
    private static Money M(string amount) => Money.Parse(amount);

    [Fact]
    public void A_purchase_from_a_hold_undone_on_its_day_resumes_as_a_release_would()
    {
        // 1195.00 - 38.00 = 1157.00, less 40 % = 694.20; the hold of 1 February moves the fifths on by three months.
        var script = Script.Given("""
            2026-01-05 sign intro=0x0.00 late=0.00/0
            2026-01-05 pay amount=38.00 method=cash
            2026-02-01 hold reason=moving
            2026-04-10 buy amount=694.20 method=check
            2026-04-10 reverse-payment payment=L4 code=entry-error reason=keyed
            """);
        var account = script.On("2026-04-10");
        Assert.Equal(("active", Money.Zero, M("694.20")), (account.Status, account.PastDue, account.EarlyPurchase.Payoff));
        Assert.Equal(new LocalDate(2026, 5, 5), account.NextDue!.On);
    }

    [Theory]
    [InlineData("return")]
    [InlineData("hold reason=moving")]
    public void After_an_undone_purchase_a_return_or_a_hold_of_the_day_still_stops_its_installment(string then)
    {
        var script = Script.Given("2026-01-05 sign intro=0x0.00 late=0.00/0");
        var payoff = script.On("2026-02-05").EarlyPurchase.Payoff;
        script.When($"2026-02-05 buy amount={payoff} method=check").ThenAccepted();
        script.When("2026-02-05 reverse-payment payment=L2 code=entry-error reason=keyed").ThenAccepted();
        script.When($"2026-02-05 {then}").ThenAccepted();
        Assert.Equal((M("38.00"), 1), (script.On("2026-02-05").PastDue, script.On("2026-02-05").Installments.Due));
    }

    [Fact]
    public void A_return_that_the_day_itself_overtakes_takes_no_late_fee_away()
    {
        // Known on the 12th: 18.00 of the 2nd and 20.00 of the 9th buy it on the 9th, one day after grace.
        var script = Script.Given("""
            2026-09-01 sign intro=0x0.00 price=38.00 rent=38.00 late=5.00/7
            2026-09-09 pay amount=20.00 method=cash
            2026-09-09 return
            2026-09-02 @2026-09-12 pay amount=18.00 method=check
            """);
        Assert.Equal(("owned", M("5.00")), (script.On("2026-09-09").Status, script.On("2026-09-09").PastDue));
    }

    [Fact]
    public void Of_two_late_fees_of_one_day_the_older_debt_is_paid_first()
    {
        var script = Script.Given("""
            2026-01-05 sign intro=0x0.00 late=5.00/40
            2026-01-10 exchange price=1512.00 rent=42.00 late=6.00/9
            2026-02-15 pay amount=85.00 method=cash
            """);
        Assert.Equal(["late:2026-02-05 6.00"], script.On("2026-02-15").OpenItems.Select(item => $"{item.Id} {item.Open}"));
    }

    [Fact]
    public void A_hold_on_the_day_of_a_fee_takes_its_note_back_and_a_release_brings_it_again()
    {
        var script = Script.Given("""
            2026-09-01 sign intro=0x0.00 late=5.00/7
            2026-09-09 bill
            2026-09-09 hold reason=summer
            2026-09-09 @2026-09-10 release
            """);
        Assert.Equal(
            ["FeeCharged L2 ", "FeeReversed L3 L3", "FeeCharged L4 L4"],
            script.Shop.History("C-1").Entries.Where(entry => entry.Event.GetType().Name.StartsWith("Fee", StringComparison.Ordinal))
                .Select(entry => $"{entry.Event.GetType().Name} {entry.Key} {entry.Cause}"));
    }

    [Fact]
    public void A_return_on_a_billed_due_date_takes_the_installments_note_back()
    {
        var script = Script.Given("""
            2026-01-05 sign intro=0x0.00 late=0.00/0
            2026-02-05 bill
            2026-02-05 return
            """);
        Assert.Equal("InstallmentReversed 2026-02-05", script.Recorded()[^1]);
        Assert.Equal("L3", script.Shop.History("C-1").Entries[^1].Cause);
    }

    [Fact]
    public void A_plan_cancelled_back_rewrites_the_noted_installments()
    {
        var script = Script.Given("""
            2026-01-05 sign intro=0x0.00 late=0.00/0 elected=yes
            2026-02-05 bill
            2026-02-01 @2026-02-10 cancel-plan
            """);
        Assert.Equal(["InstallmentReversed 2026-02-05", "InstallmentCharged 2026-02-05"], script.Recorded().TakeLast(2));
        script.When("2026-02-28 bill").ThenAccepted();
        Assert.Equal("InstallmentCharged 2026-02-05", script.Recorded()[^1]);
    }

    [Fact]
    public void Held_and_released_on_one_due_date_the_installment_falls_due_once()
    {
        var account = Script.Given("""
            2026-01-05 sign intro=0x0.00 late=0.00/0
            2026-02-05 hold reason=moving
            2026-02-05 release
            """).On("2026-02-05");
        Assert.Equal((M("76.00"), new LocalDate(2026, 3, 5)), (account.PastDue, account.NextDue!.On));
    }
}
