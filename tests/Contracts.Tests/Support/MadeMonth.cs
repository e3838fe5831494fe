using Contracts.Books;
using Contracts.Books.Month;
using Contracts.Books.Packet;
using NodaTime;
using NodaTime.Text;

namespace Contracts.Tests.Support;

/// <summary>
/// October 2026 of an invented shop, made by the packet maker itself: three places with a regime each, a year of books behind it,
/// a return, and a fee of a closed month waived late.
/// </summary>
internal static class MadeMonth
{
    private static readonly MonthScript Story = MonthScript.Given($"""
        2025-09-05 sign area=three intro=0x0.00 elected=yes cost=400.00 accessories=24.90
        2025-09-20 pay amount=80.00 method=card
        {Closes(new YearMonth(2025, 9), 12)}
        2026-09-05 sign contract=C-2 serial=HC-2 area=delivery cost=300.00
        2026-09-05 pay contract=C-2 amount=140.60 method=card
        2026-10-02 close 2026-09
        2026-09-14 @2026-10-05 waive fee=late:2026-09-05 reason=kindness
        2026-10-10 return contract=C-2 condition=good
        2026-10-12 sign contract=C-3 serial=HC-3 area=lessor cost=512.00
        2026-11-02 close 2026-10
        """);

    /// <summary>The packet in a form of the past or of today.</summary>
    public static Packet Make(PacketForm form)
    {
        var figures = Story.Figures;
        return PacketMaker.Make(
            form == PacketForm.First ? figures with { Form = form, Totals = figures.Totals with { Compared = null } } : figures with { Form = form }, Chart.Standard);
    }

    private static string Closes(YearMonth first, int count) => string.Join('\n', Enumerable.Range(0, count).Select(first.PlusMonths).Select(month =>
        $"{LocalDatePattern.Iso.Format(month.PlusMonths(1).OnDayOfMonth(2))} close {YearMonthPattern.Iso.Format(month)}"));
}
