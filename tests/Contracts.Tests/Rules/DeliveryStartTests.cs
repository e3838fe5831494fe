using Contracts.Agreements;
using Contracts.Explain;
using Contracts.Papers;
using Contracts.Tests.Support;
using NodaTime;
using Xunit;

namespace Contracts.Tests.Rules;

/// <summary>A rental that begins on the day the instrument is delivered (M83).</summary>
public sealed class DeliveryStartTests
{
    private const string Ordered = "2026-09-01 sign start=2026-09-05 begins=delivery\n";

    [Fact]
    public void Nothing_falls_due_before_the_delivery_and_every_due_date_is_counted_from_it()
    {
        var waiting = Script.Given(Ordered);
        foreach (var day in new[] { "2026-09-01", "2026-09-05", "2027-03-05" })
        {
            var account = waiting.On(day);
            Assert.Equal(("signed", null, 0), (account.Status, account.NextDue, account.Installments.Due));
            Assert.Equal("0.00", account.PastDue.ToString());
        }

        var delivered = Script.Given(Ordered + "2026-09-09 deliver");
        Assert.Equal("signed", delivered.On("2026-09-08").Status);
        var first = delivered.On("2026-09-09");
        Assert.Equal(("active", "45.00", new LocalDate(2026, 11, 9)), (first.Status, first.PastDue.ToString(), first.NextDue!.On));
        Assert.Equal(32, first.Installments.Total);
        Assert.Equal(new LocalDate(2026, 12, 9), delivered.On("2026-11-09").NextDue!.On);
    }

    [Fact]
    public void It_is_the_account_of_a_rental_that_was_signed_to_begin_on_that_day()
    {
        const string Then = "\n2026-09-10 pay amount=45.00 method=cash\n2026-11-20 pay amount=10.00 method=cash\n2026-12-20 hold reason=r\n2027-02-01 release";
        var delivered = Script.Given("2026-09-01 sign start=2026-09-05 begins=delivery tiers=3:0.40,*:0.25 elected=yes area=taxed\n2026-09-09 deliver" + Then);
        var named = Script.Given("2026-09-01 sign start=2026-09-09 tiers=3:0.40,*:0.25 elected=yes area=taxed" + Then);
        foreach (var day in new[] { "2026-09-09", "2026-11-09", "2026-11-17", "2026-12-08", "2026-12-09", "2027-01-15", "2027-06-30", "2029-12-31" })
        {
            Assert.Equal(Text(named, day), Text(delivered, day));
        }
    }

    [Fact]
    public void What_was_known_before_the_delivery_was_recorded_stays_what_it_was()
    {
        var script = Script.Given(Ordered + "2026-09-09 @2026-09-20 deliver");
        Assert.Equal("signed", script.On("2026-09-15", known: "2026-09-19").Status);
        Assert.Equal(("active", "45.00"), (script.On("2026-09-15").Status, script.On("2026-09-15").PastDue.ToString()));
        // Five days of the grace were over before anybody knew: the late fee follows from terms and dates like every other.
        Assert.Equal("50.00", script.On("2026-09-17").PastDue.ToString());
    }

    [Fact]
    public void Money_paid_before_the_delivery_waits_and_pays_what_falls_due_with_it()
    {
        var script = Script.Given(Ordered + "2026-09-01 pay amount=45.00 method=cash\n2026-09-03 deliver");
        Assert.Equal(("45.00", "0.00"), (script.On("2026-09-02").UnappliedCredit.ToString(), script.On("2026-09-02").Equity.ToString()));
        Assert.Equal(("0.00", "45.00", "0.00"), (script.On("2026-09-03").UnappliedCredit.ToString(), script.On("2026-09-03").Equity.ToString(), script.On("2026-09-03").PastDue.ToString()));
    }

    [Fact]
    public void An_order_cancelled_before_the_delivery_gives_everything_back()
    {
        var script = Script.Given("2026-09-01 sign start=2026-09-05 begins=delivery accessories=24.00 area=taxed\n2026-09-01 pay amount=70.92 method=cash");
        Assert.Equal(("25.92", "45.00"), (script.On("2026-09-01").Paid.Total.ToString(), script.On("2026-09-01").UnappliedCredit.ToString()));
        script.When("2026-09-20 return").ThenAccepted();
        var cancelled = script.On("2026-09-20");
        Assert.Equal(("cancelled", "70.92", "0.00", "0.00"), (cancelled.Status, cancelled.UnappliedCredit.ToString(), cancelled.PastDue.ToString(), cancelled.Paid.Total.ToString()));
        script.When("2026-09-20 refund amount=70.93").ThenRefused(RefusalCode.RefundExceedsCredit, "70.92");
        script.When("2026-09-20 refund amount=70.92").ThenAccepted();
        Assert.Equal("0.00", script.On("2026-09-20").UnappliedCredit.ToString());
        script.When("2026-09-21 deliver").ThenRefused(RefusalCode.StatusForbids);
    }

    [Fact]
    public void A_delivery_that_is_told_for_a_day_to_come_has_not_come_yet()
    {
        var script = Script.Given(
            "2026-09-01 sign start=2026-09-05 begins=delivery accessories=24.00\n2026-09-01 pay amount=69.00 method=cash\n2026-09-05 deliver deliveredOn=2026-09-12\n2026-09-11 return");
        var cancelled = script.On("2026-09-11");
        Assert.Equal(("cancelled", "69.00", "0.00"), (cancelled.Status, cancelled.UnappliedCredit.ToString(), cancelled.Paid.Total.ToString()));
    }

    [Fact]
    public void What_was_sold_with_a_rental_that_begins_on_a_named_day_stays_sold()
    {
        var script = Script.Given("2026-09-01 sign start=2026-09-25 accessories=24.00\n2026-09-01 pay amount=24.00 method=cash\n2026-09-20 return");
        Assert.Equal(("cancelled", "0.00", "24.00"), (script.On("2026-09-20").Status, script.On("2026-09-20").UnappliedCredit.ToString(), script.On("2026-09-20").Paid.Total.ToString()));
    }

    [Fact]
    public void A_wrong_day_is_put_right_with_a_reason_and_everything_follows()
    {
        var script = Script.Given(Ordered + "2026-09-09 deliver\n2026-09-09 pay amount=45.00 method=cash\n2026-11-10 bill through=2026-11-10");
        Assert.Equal("38.00", script.On("2026-11-10").PastDue.ToString());
        script.When("2026-09-16 @2026-11-11 deliver").ThenRefused(RefusalCode.ReasonMissing);
        script.When("2026-09-16 @2026-11-11 deliver reason=carrier").ThenRefused(RefusalCode.DeliveryDayWrong, "2026-09-09");
        script.When("2026-09-09 @2026-11-11 deliver deliveredOn=2026-09-08 reason=carrier").ThenRefused(RefusalCode.DeliveryDayWrong, "2026-09-08");
        script.When("2026-09-09 @2026-11-11 deliver deliveredOn=2026-12-13 reason=carrier").ThenRefused(RefusalCode.OnTooFarAhead, "2026-12-12");
        script.When("2026-09-09 @2026-11-11 deliver deliveredOn=2026-09-16 reason=carrier").ThenAccepted();
        Assert.Equal(("0.00", new LocalDate(2026, 11, 16)), (script.On("2026-11-10").PastDue.ToString(), script.On("2026-11-10").NextDue!.On));
        Assert.Equal(("signed", "active"), (script.On("2026-09-09").Status, script.On("2026-09-09", known: "2026-11-10").Status));
        Assert.Equal("38.00", script.On("2026-11-10", known: "2026-11-10").PastDue.ToString());
        // Earlier than all that was recorded: the later ones are overtaken.
        script.When("2026-09-05 @2026-11-12 deliver reason=family").ThenAccepted();
        Assert.Equal(new LocalDate(2026, 12, 5), script.On("2026-11-10").NextDue!.On);
        // And once more: dated on the day of the one that counts.
        script.When("2026-09-09 @2026-11-12 deliver deliveredOn=2026-09-12 reason=again").ThenRefused(RefusalCode.DeliveryDayWrong, "2026-09-05");
        script.When("2026-09-05 @2026-11-12 deliver deliveredOn=2026-09-12 reason=again").ThenAccepted();
        Assert.Equal(("signed", "active"), (script.On("2026-09-11").Status, script.On("2026-09-12").Status));
        Assert.Equal(new LocalDate(2026, 11, 12), script.On("2026-11-10").NextDue!.On);
    }

    [Theory]
    [InlineData("2026-09-09 deliver\n2026-10-01 hold reason=r", "2026-09-09 @2026-10-02 deliver deliveredOn=2026-09-10 reason=r", RefusalCode.LaterEvent, "2026-10-01")]
    [InlineData("2026-09-09 deliver\n2026-10-01 return", "2026-10-02 deliver reason=r", RefusalCode.StatusForbids, null)]
    [InlineData("2026-09-09 return", "2026-09-05 @2026-09-10 deliver", RefusalCode.LaterEvent, "2026-09-09")]
    [InlineData("2026-09-09 deliver", "2026-09-05 @2026-09-10 return", RefusalCode.LaterEvent, "2026-09-09")]
    [InlineData("", "2026-08-31 @2026-09-02 deliver", RefusalCode.OnBeforeSigning, "2026-09-01")]
    [InlineData("", "2026-10-03 @2026-09-01 deliver", RefusalCode.OnTooFarAhead, "2026-10-02")]
    [InlineData("", "2026-09-09 hold reason=r", RefusalCode.StatusForbids, null)]
    public void Deliveries_come_in_their_order(string given, string when, RefusalCode code, string? right) => Script.Given(Ordered + given).When(when).ThenRefused(code, right);

    [Fact]
    public void A_unit_swapped_on_the_way_does_not_stop_a_delivery_recorded_late()
    {
        var script = Script.Given(Ordered + "2026-09-08 swap serial=HC-2 returnBy=2026-09-30\n2026-09-07 @2026-09-10 deliver");
        Assert.Equal(("active", "45.00"), (script.On("2026-09-07").Status, script.On("2026-09-07").PastDue.ToString()));
    }

    [Fact]
    public void The_first_discount_holds_until_the_delivery_and_a_purchase_taken_back_waits_for_it_again()
    {
        var script = Script.Given("2026-09-01 sign start=2026-09-05 begins=delivery tiers=3:0.40,*:0.25");
        Assert.Equal("717.00", script.On("2027-09-01").EarlyPurchase.Price.ToString());
        script.When("2027-09-01 buy amount=717.00 method=check key=B").ThenAccepted();
        Assert.Equal("owned", script.On("2027-09-01").Status);
        script.When("2027-09-10 reverse-payment payment=B code=entry-error reason=r").ThenAccepted();
        Assert.Equal(("signed", null), (script.On("2027-09-10").Status, script.On("2027-09-10").NextDue));
    }

    [Fact]
    public void What_was_undone_before_the_delivery_does_not_stop_its_day_from_being_put_right()
    {
        var script = Script.Given(
            Ordered + "2026-09-03 buy amount=717.00 method=check key=B\n2026-09-04 reverse-payment payment=B code=entry-error reason=r\n2026-09-09 deliver");
        script.When("2026-09-09 @2026-09-20 deliver deliveredOn=2026-09-16 reason=r").ThenAccepted();
        Assert.Equal(("signed", "active"), (script.On("2026-09-15").Status, script.On("2026-09-16").Status));
    }

    [Fact]
    public void All_rents_of_the_term_are_taxed_with_the_delivery_where_the_place_does_so()
    {
        var script = Script.Given("2026-09-01 sign start=2026-09-05 begins=delivery area=delivery\n2026-09-09 deliver");
        Assert.Equal("0.00", script.On("2026-09-08").PastDue.ToString());
        // 8 percent of 1195.00, and the introductory payment.
        Assert.Equal("140.60", script.On("2026-09-09").PastDue.ToString());
    }

    [Fact]
    public void A_quote_that_says_so_is_signed_so()
    {
        var script = Script.Given("2026-09-01 quote quote=Q-1 start=2026-09-05 begins=delivery validThrough=2026-09-19");
        script.When("2026-09-01 sign start=2026-09-05 quote=Q-1").ThenRefused(RefusalCode.QuoteDiffers, "true");
        script.When("2026-09-01 sign start=2026-09-05 begins=delivery quote=Q-1").ThenAccepted();
    }

    [Fact]
    public void The_paper_and_the_reason_say_that_the_days_are_those_expected()
    {
        var life = Script.Given(Ordered);
        var history = life.Shop.History("C-1");
        var rates = life.Shop.RatesAt(Instant.MaxValue);
        var (paper, _) = PaperMaker.Make(history, rates, new PaperRequest(PaperKind.Agreement, "L1", new LocalDate(2026, 9, 1), history.Entries[^1].At));
        Assert.True(paper!.Agreement!.StartsAtDelivery);
        Assert.Contains(paper.Agreement.Disclosures, line => line.Text.Contains("expected on September 5, 2026: the days on this sheet move with it", StringComparison.Ordinal));
        var why = Explanation.At(history, rates, new LocalDate(2026, 9, 8))!.Of("nextDue.amount");
        Assert.Contains("before the delivery", why!.Rule, StringComparison.Ordinal);
    }

    /// <summary>The account but for how many events made it.</summary>
    private static string Text(Script script, string day) => AccountText.Of(script.On(day) with { Events = 0, LastSequence = 0 });
}
