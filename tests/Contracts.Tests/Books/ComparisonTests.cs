using System.Text;
using Contracts.Books;
using Contracts.Books.Month;
using Contracts.Books.Packet;
using Contracts.Tests.Support;
using NodaTime;
using NodaTime.Text;
using Xunit;

namespace Contracts.Tests.Books;

/// <summary>The month beside the month before and the same month a year before: what those were closed with, whatever came later.</summary>
public sealed class ComparisonTests
{
    private static readonly YearMonth First = new(2025, 9);

    /// <summary>
    /// From September 2025 to November 2026 rent falls due on the fifth; one rent is paid; a payment and a waiver of closed months
    /// are learned late.
    /// </summary>
    private static readonly MonthScript FifteenMonths = MonthScript.Given($"""
        2025-09-05 sign area=three intro=0x0.00 elected=yes cost=400.00
        2025-09-20 pay amount=60.00 method=card
        {Closes(0, 3)}
        2025-11-20 @2025-12-03 pay amount=48.72 method=cash
        2025-10-13 @2025-12-03 waive fee=late:2025-10-05 reason=kindness
        {Closes(3, 15)}
        """);

    [Fact]
    public void In_the_first_month_there_is_nothing_to_compare_with_and_nothing_is_not_zero() => FifteenMonths
        .ThenRows("2025-09", "income-statement", "number account month monthBefore yearAgo year", """
        4000 | Rental revenue | 32.93 |  |  | 32.93
        4100 | Protection plan revenue | 6.07 |  |  | 6.07
        4200 | Late fees | 5.00 |  |  | 5.00
        | income | 44.00 |  |  | 44.00
        5100 | Fleet depreciation | 5.33 |  |  | 5.33
        | expenses | 5.33 |  |  | 5.33
        | result of the programme | 38.67 |  |  | 38.67
        """)
        .ThenRows("2025-09", "balance-sheet", "account opening closing yearAgo", """
        Card clearing |  | 60.00 |
        Fleet in store |  | -400.00 |
        Fleet on rent |  | 400.00 |
        Accumulated depreciation |  | -5.33 |
        assets |  | 54.67 |
        Sales tax payable |  | 4.13 |
        Deferred rent |  | 5.07 |
        Deferred protection plan |  | 0.93 |
        Unapplied credit |  | 5.87 |
        liabilities |  | 16.00 |
        assets less liabilities: the result since the start |  | 38.67 |
        """);

    [Fact]
    public void The_month_before_is_what_its_own_packet_said()
    {
        for (var month = First.PlusMonths(1); month < First.PlusMonths(15); month = month.PlusMonths(1))
        {
            var (now, before) = (Packet(month), Packet(month.PlusMonths(-1)));
            Same(Column(before, "income-statement", "month"), Column(now, "income-statement", "monthBefore"));
            Same(Column(before, "balance-sheet", "closing"), Column(now, "balance-sheet", "opening"));
            Same(Column(before, "trial-balance", "closing"), Column(now, "trial-balance", "opening"));
        }
    }

    [Fact]
    public void A_year_before_is_what_that_months_own_packet_said_and_empty_while_there_were_no_books()
    {
        for (var month = First; month < First.PlusMonths(15); month = month.PlusMonths(1))
        {
            var now = Packet(month);
            if (month < First.PlusMonths(12))
            {
                foreach (var report in new[] { "income-statement", "balance-sheet", "trial-balance" })
                {
                    Assert.All(MonthScript.Rows(now, report, "yearAgo"), cell => Assert.Equal("", cell));
                }

                continue;
            }

            var ago = Packet(month.PlusMonths(-12));
            Same(Column(ago, "income-statement", "month"), Column(now, "income-statement", "yearAgo"));
            Same(Column(ago, "balance-sheet", "closing"), Column(now, "balance-sheet", "yearAgo"));
            Same(Column(ago, "trial-balance", "closing"), Column(now, "trial-balance", "yearAgo"));
        }
    }

    [Fact]
    public void A_packet_of_the_first_form_compares_nothing_and_has_no_tax_by_jurisdiction()
    {
        var figures = FifteenMonths.Figures;
        var packet = PacketMaker.Make(figures with { Form = PacketForm.First, Totals = figures.Totals with { Compared = null } }, Chart.Standard);
        Assert.Equal((16, 12), (packet.Reports.Length, packet.Checks.Length));
        Assert.Equal("number account month year sinceStart", Ids(packet, "income-statement"));
        Assert.Equal("number account opening closing", Ids(packet, "balance-sheet"));
        Assert.Equal("number account opening debits credits closing", Ids(packet, "trial-balance"));
        Assert.DoesNotContain(packet.Reports, report => report.Id is "taxable-receipts" or "tax-by-authority");
    }

    [Theory]
    [InlineData(PacketForm.First)]
    [InlineData(PacketForm.WithTaxAndComparison)]
    public void A_month_is_made_in_the_form_it_was_closed_in_to_the_byte(PacketForm form)
    {
        var packet = MadeMonth.Make(form);
        Golden.Same($"fixtures/packet/2026-10.form-{(int)form}.json", Encoding.UTF8.GetString(PacketJson.Bytes(packet)));
        Assert.All(packet.Checks, check => Assert.True(check.Passed, check.Name));
    }

    private static string Ids(Packet packet, string report) =>
        string.Join(' ', packet.Reports.Single(one => one.Id == report).Columns.Select(column => column.Id));

    private static string Closes(int from, int to) => string.Join('\n', Enumerable.Range(from, to - from).Select(number => First.PlusMonths(number)).Select(month =>
        $"{LocalDatePattern.Iso.Format(month.PlusMonths(1).OnDayOfMonth(2))} close {YearMonthPattern.Iso.Format(month)}"));

    private static Packet Packet(YearMonth month) => FifteenMonths.ThenChecked(YearMonthPattern.Iso.Format(month)).Packet(YearMonthPattern.Iso.Format(month));

    /// <summary>What a column says of each account and sum; an account of which it says nothing or zero may be left out.</summary>
    private static List<string> Column(Packet packet, string report, string column) =>
        [.. MonthScript.Rows(packet, report, "number", "account", column).Where(row => !row.EndsWith("| 0.00", StringComparison.Ordinal))];

    private static void Same(List<string> expected, List<string> actual)
    {
        Assert.Equal(string.Join('\n', expected), string.Join('\n', actual));
        Assert.True(expected.Count > 2);
    }
}
