using Contracts.Schedule;
using Contracts.Tests.Support;
using NodaTime;
using Xunit;

namespace Contracts.Tests.Published;

/// <summary>Rounding of tax and month arithmetic against published rules and examples.</summary>
public sealed class RoundingAndDateTests
{
    /// <summary>
    /// SSUTA section 324, read as enacted in Rhode Island (44-18.1-25) and North Dakota (57-39.4-25): tax is carried to
    /// the third decimal and rounded up when that is more than four. Figures made here: 2.388875, 0.7049 (rounding to
    /// three places first would give 0.71), 0.725 (rounding to even would give 0.72).
    /// </summary>
    [Theory]
    [InlineData("32.95", "0.0725", "2.39")]
    [InlineData("10.07", "0.07", "0.70")]
    [InlineData("10.00", "0.0725", "0.73")]
    public void Tax_is_rounded_half_up_once(string amount, string rate, string tax) =>
        Assert.Equal(tax, Rate.Parse(rate).Of(Money.Parse(amount)).ToString());

    /// <summary>
    /// NodaTime's documentation of LocalDate.PlusMonths: 30 January 2011 plus one month is 28 February 2011. The rest
    /// apply the same rule to anchors of our own.
    /// </summary>
    [Theory]
    [InlineData("2011-01-30", 1, "2011-02-28")]
    [InlineData("2026-01-31", 1, "2026-02-28")]
    [InlineData("2028-01-31", 1, "2028-02-29")]
    [InlineData("2026-08-31", 6, "2027-02-28")]
    [InlineData("2026-08-31", 7, "2027-03-31")]
    [InlineData("2026-10-31", 4, "2027-02-28")]
    public void Due_dates_clamp_to_the_month_and_come_back_to_the_anchor(string anchor, int slot, string due)
    {
        var start = NodaTime.Text.LocalDatePattern.Iso.Parse(anchor).Value;
        var schedule = new RentSchedule(start, null, slot, 0, new Money(100), new Money(100));
        Assert.Equal(NodaTime.Text.LocalDatePattern.Iso.Parse(due).Value, schedule.NextDue);
    }

    /// <summary>Counted from the anchor, not from the last due date: chained steps would end on the 28th.</summary>
    [Fact]
    public void A_whole_school_year_from_the_31st_ends_on_the_31st()
    {
        var account = Script.Given("2026-08-31 sign intro=0x0.00 late=0.00/0").On("2027-03-30");
        Assert.Equal(new LocalDate(2027, 3, 31), account.NextDue!.On);
        Assert.Equal(7, account.Installments.Due);
    }
}
