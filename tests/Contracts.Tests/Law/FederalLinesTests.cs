using Contracts.Compliance;
using Contracts.Tests.Support;
using NodaTime;
using Xunit;

namespace Contracts.Tests.Law;

/// <summary>The scope lines of 12 CFR 1013 (Regulation M) and the example against pyramiding of 16 CFR 444.4.</summary>
public sealed class FederalLinesTests
{
    private static readonly Money Total = new(140_400);

    [Theory]
    [InlineData(1, false, false)] // Month to month, free return.
    [InlineData(1, true, true)] // Month to month, a deposit is forfeited when it ends before a year: comment 2(e)-3.
    [InlineData(4, false, false)] // Exactly four months is not more than four.
    [InlineData(5, false, true)]
    public void A_month_to_month_rental_is_no_consumer_lease(int months, bool charge, bool isLease) =>
        Assert.Equal(isLease, FederalLines.IsConsumerLease(new LocalDate(2018, 6, 1), months, charge, Total));

    [Theory]
    // 12 CFR 1013.2(e), comment 2(e)-11, read in a public text of 2018.
    [InlineData("2011-07-20", "25000.00")]
    [InlineData("2011-07-21", "50000.00")]
    [InlineData("2012-01-01", "51800.00")]
    [InlineData("2018-12-31", "55800.00")]
    // From memory.
    [InlineData("2026-09-05", "73400.00")]
    public void The_sum_above_which_the_rules_stop_changes_by_the_year(string day, string sum) =>
        Assert.Equal(sum, FederalLines.Threshold(NodaTime.Text.LocalDatePattern.Iso.Parse(day).Value).ToString());

    [Fact]
    public void A_lease_above_the_sum_is_outside()
    {
        var day = new LocalDate(2018, 6, 1);
        Assert.True(FederalLines.IsConsumerLease(day, 12, false, new Money(5_580_000)));
        Assert.False(FederalLines.IsConsumerLease(day, 12, false, new Money(5_580_001)));
    }

    [Fact]
    public void An_unpaid_late_fee_never_makes_a_payment_late_that_was_made_in_full_and_on_time()
    {
        // 16 CFR 444.4 (a rule for credit, here as a measure): one payment is late, its fee stays unpaid, every later one is paid on its day.
        var script = Script.Given("""
            2026-09-05 sign intro=0x0.00
            2026-09-20 pay amount=38.00 method=cash
            2026-10-05 pay amount=38.00 method=cash
            2026-11-05 pay amount=38.00 method=cash
            2026-12-05 pay amount=38.00 method=cash
            """);
        var fee = Assert.Single(script.On("2027-01-04").OpenItems);
        Assert.Equal(("late:2026-09-05", new Money(500)), (fee.Id, fee.Open));
    }
}
