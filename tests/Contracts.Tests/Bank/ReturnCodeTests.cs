using Contracts.Bank;
using Contracts.Calendars;
using Xunit;
using static Contracts.Tests.Bank.BankLines;

namespace Contracts.Tests.Bank;

/// <summary>
/// Return codes and banking days against what is published: public tables of ACH return reason codes (a processor's and two banks'; read), 5 U.S.C.
/// 6103 and the Federal Reserve's rule for Saturdays (read).
/// </summary>
public sealed class ReturnCodeTests
{
    [Theory]
    [InlineData("R01 R02 R03 R04 R08 R09 R12 R14 R15 R16 R17 R20 R21 R22 R24", "2 banking days")]
    [InlineData("R05 R07 R10 R11", "60 calendar days")]
    [InlineData("R13 R18 R19 R25 R26 R27 R28", "next file")]
    [InlineData("R23", "no fixed day")]
    public void A_code_comes_within_its_published_time(string codes, string frame) =>
        Assert.All(codes.Split(' '), code => Assert.Equal((frame, "read"), (ReturnCode.Find(code)!.FrameWords, ReturnCode.Find(code)!.Verified)));

    [Theory]
    [InlineData("2026-09-17", "2026-09-21")]
    [InlineData("2026-11-25", "2026-11-30")]
    // 3 July 2026 is a holiday of federal offices and a banking day.
    [InlineData("2026-07-02", "2026-07-06")]
    // Independence Day 2027 is a Sunday and kept on Monday (from the rule; no source names the day).
    [InlineData("2027-07-02", "2027-07-07")]
    public void Two_banking_days_are_counted_across_holidays(string settled, string last) =>
        Assert.Equal(Day(last), ReturnCode.Find("R01")!.LastDay(Day(settled)));

    [Fact]
    public void Sixty_days_end_on_the_next_banking_day() => Assert.Equal(Day("2026-11-25"), ReturnCode.Find("R07")!.LastDay(Day("2026-09-25")));

    [Theory]
    [InlineData("2026-01-01 2026-01-19 2026-02-16 2026-05-25 2026-06-19 2026-09-07 2026-10-12 2026-11-11 2026-11-26 2026-12-25", false)]
    [InlineData("2026-07-03 2027-06-18 2027-12-24 2028-11-10 2020-06-19", true)]
    public void Reserve_Banks_are_closed_on_the_days_of_the_statute_and_open_on_the_Friday_before(string days, bool open) =>
        Assert.All(days.Split(' '), day => Assert.Equal(open, BusinessCalendar.Banks.IsBusinessDay(Day(day))));

    [Fact]
    public void Every_code_says_how_it_is_known_and_a_familys_return_is_no_companys()
    {
        Assert.All(ReturnCode.All, code =>
        {
            Assert.Matches("^R[0-9]{2}$", code.Code);
            Assert.True(code.Verified is "read" or "memory");
            Assert.NotEmpty(code.Citation);
            Assert.Equal(code.Frame is ReturnFrame.BankingDays or ReturnFrame.CalendarDays, code.Days > 0);
        });
        Assert.Equal(["R21", "R22", "R23", "R29", "R31", "R33"], ReturnCode.All.Where(code => !code.OfConsumerDebit).Select(code => code.Code));
    }
}
