using Contracts.Calendars;
using Contracts.DayWork;
using Contracts.History;
using Contracts.Tests.Support;
using NodaTime;
using NodaTime.Text;
using Xunit;

namespace Contracts.Tests.Rules;

/// <summary>What a day asks for about one account.</summary>
public sealed class DayPlanTests
{
    /// <summary>Two months for 45.00, then 38.00 on the 5th of each month; a late fee of 5.00 after seven days.</summary>
    private const string Family = "2026-09-05 sign\n2026-09-05 pay amount=45.00 method=cash\n";

    [Theory]
    [InlineData("2026-11-02", "payment-due 2026-11-05 38.00")]
    [InlineData("2026-11-03", "")]
    // 5 December 2026 is a Saturday; three days before it is Wednesday, 2 December.
    [InlineData("2026-12-02", "payment-due 2026-12-05 38.00")]
    // Three days before 5 January 2027 is Saturday, 2 January, and Friday is New Year's Day: the family is told on Thursday.
    [InlineData("2026-12-31", "payment-due 2027-01-05 38.00")]
    [InlineData("2027-01-02", "")]
    public void A_payment_is_told_three_days_ahead_on_a_business_day(string day, string expected) =>
        Assert.Equal(expected, string.Join("; ", Tasks(Script.Given(Family), day)));

    /// <summary>The host was down over 2 November; the installment is of the 5th.</summary>
    [Theory]
    [InlineData("2026-11-03", "2026-10-30", "payment-due 2026-11-05 38.00")]
    [InlineData("2026-11-04", "2026-10-30", "payment-due 2026-11-05 38.00")]
    [InlineData("2026-11-05", "2026-10-30", "")]
    [InlineData("2026-11-03", "2026-11-02", "")]
    public void A_day_that_was_missed_is_made_up_for_while_it_is_of_use(string day, string since, string expected) =>
        Assert.Equal(expected, string.Join("; ", Tasks(Script.Given(Family), day, since)));

    [Theory]
    [InlineData("2026-11-12", "")]
    [InlineData("2026-11-13", "default-notice 2026-11-13 late:2026-11-05 43.00")]
    [InlineData("2026-11-14", "")] // a Saturday
    [InlineData("2026-11-16", "default-notice 2026-11-13 late:2026-11-05 43.00")]
    [InlineData("2026-11-20", "default-notice 2026-11-13 late:2026-11-05 43.00")]
    [InlineData("2026-11-23", "")]
    public void The_notice_of_a_late_fee_is_asked_for_through_a_week(string day, string expected) =>
        Assert.Equal(expected, string.Join("; ", Tasks(Script.Given(Family), day)));

    [Fact]
    public void A_notice_that_was_made_is_not_asked_for_again()
    {
        var script = Script.Given(Family + "2026-11-13 issue kind=default-notice key=day:default-notice:C-1:late:2026-11-05");
        Assert.Empty(Tasks(script, "2026-11-16"));
        // What was paid meanwhile needs no notice either.
        Assert.Empty(Tasks(Script.Given(Family + "2026-11-14 pay amount=43.00 method=cash"), "2026-11-16"));
    }

    // Five days before 18 September is a Sunday: Friday, 11 September.
    [Theory]
    [InlineData("2026-09-11", "unit-due-back 2026-09-18 HC-1 690.00")]
    [InlineData("2026-09-14", "")]
    public void A_unit_is_asked_back_five_days_ahead_with_the_fee_told_at_the_swap(string day, string expected) =>
        Assert.Equal(expected, string.Join("; ", Tasks(Script.Given(Family + "2026-09-08 swap serial=HC-2 returnBy=2026-09-18"), day)));

    [Fact]
    public void A_unit_that_is_back_is_not_asked_for() =>
        Assert.Empty(Tasks(Script.Given(Family + "2026-09-08 swap serial=HC-2 returnBy=2026-09-18\n2026-09-10 receive-unit serial=HC-1"), "2026-09-11"));

    /// <summary>Thirty days from 2 October, where the pack gives no window (money.md section 7): 1 November, told on Friday before the Sunday a week ahead.</summary>
    [Fact]
    public void The_end_of_a_reinstatement_is_told_a_week_ahead() =>
        Assert.Equal("reinstatement-ends 2026-11-01", string.Join("; ", Tasks(Script.Given(Family + "2026-10-02 return"), "2026-10-23")));

    // Expected on Saturday, 5 September 2026; three days later is a Tuesday, after Labor Day. Then every week.
    [Theory]
    [InlineData("2026-09-07", "")]
    [InlineData("2026-09-08", "delivery-untold 2026-09-05 HC-1")]
    [InlineData("2026-09-09", "")]
    [InlineData("2026-09-15", "delivery-untold 2026-09-05 HC-1")]
    [InlineData("2027-09-07", "delivery-untold 2026-09-05 HC-1")]
    public void A_delivery_that_nobody_told_is_asked_for_every_week(string day, string expected) =>
        Assert.Equal(expected, string.Join("; ", Tasks(Script.Given("2026-09-01 sign start=2026-09-05 begins=delivery"), day)));

    [Fact]
    public void A_delivery_is_not_asked_for_once_it_is_told_or_the_order_is_cancelled()
    {
        const string ordered = "2026-09-01 sign start=2026-09-05 begins=delivery\n";
        Assert.Empty(Tasks(Script.Given(ordered + "2026-09-04 deliver"), "2026-09-08"));
        Assert.Empty(Tasks(Script.Given(ordered + "2026-09-04 return"), "2026-09-08"));
        // The host was down on the 8th.
        Assert.Equal(["delivery-untold 2026-09-05 HC-1"], Tasks(Script.Given(ordered), "2026-09-10", since: "2026-09-07"));
    }

    [Fact]
    public void The_last_payment_has_its_notice()
    {
        // 1195.00 - 45.00 in rents of 575.00: two payments, on 5 November and 5 December.
        var script = Script.Given("2026-09-05 sign rent=575.00\n2026-09-05 pay amount=45.00 method=cash\n2026-11-05 pay amount=575.00 method=cash");
        Assert.Equal("final-payment-notice 2026-12-05 575.00", string.Join("; ", Tasks(script, "2026-11-16")));
        Assert.Empty(Tasks(script, "2026-11-13"));
        // Two were left then, the first of them within three weeks.
        Assert.Empty(Tasks(script, "2026-10-20"));
    }

    private static IEnumerable<string> Tasks(Script script, string day, string? since = null)
    {
        var on = LocalDatePattern.Iso.Parse(day).Value;
        var account = AccountFold.At(script.Shop.History("C-1"), script.Shop.RatesAt(Instant.MaxValue), on)!;
        return new DayPlan().Of(account, since is null ? on.PlusDays(-1) : LocalDatePattern.Iso.Parse(since).Value, BusinessCalendar.Federal)
            .Select(task => string.Join(' ', new[] { task.Kind.Word(), LocalDatePattern.Iso.Format(task.On), task.About, task.Amount?.ToString() }.Where(part => part is not null)));
    }
}
