using Contracts.Books.Depreciation;
using Contracts.Books.Packet;
using static Contracts.Books.Month.Table;

namespace Contracts.Books.Month;

/// <summary>Depreciation of the fleet: the books' straight line, and the federal table for comparison.</summary>
internal static class DepreciationReports
{
    public static Report Book(MonthEndFigures month)
    {
        var table = new Table(
            "depreciation-book", "Accumulated depreciation, straight line",
            $"Over {month.Policy.Months} months from the month a unit first goes out, "
            + $"to {month.Policy.Salvage.Of(new Money(100_00)).Cents / 100} percent of its cost; a policy of the shop (docs/depreciation.md).",
            Words("serial", "serial"), Amount("cost", "cost"), Amount("opening", "opening"), Amount("charge", "charge"),
            Amount("disposal", "left with the unit"), Amount("closing", "closing"));
        var fleet = month.Fleet.BookMonth(month.Totals.Month);
        foreach (var line in fleet.Lines)
        {
            table.Line(
                null, Cell.Of(line.Serial), Cell.Of(line.Cost), Cell.Of(line.Opening), Cell.Of(line.Charge),
                Cell.Of(Money.Zero - line.Disposal), Cell.Of(line.Closing));
        }

        return table.Total(
            Cell.Of("total"), Cell.Of(fleet.Lines.Aggregate(Money.Zero, (sum, line) => sum + line.Cost)), Cell.Of(fleet.Opening),
            Cell.Of(fleet.Charge), Cell.Of(Money.Zero - fleet.Disposals), Cell.Of(fleet.Closing)).Done();
    }

    /// <summary>The year so far as it would be if the year ended now; a tax return is made when it has.</summary>
    public static Report Tax(MonthEndFigures month)
    {
        var table = new Table(
            "depreciation-tax", $"Federal depreciation of {month.Totals.Month.Year}, 3-year property",
            "IRS Publication 946, tables A-1 to A-5, as if the year ended now and every unit were qualified rent-to-own property (26 USC 168(i)(14)); "
            + "a small first payment may break a condition of that class. Bonus, section 179 and state rules are not applied. " + RentToOwnQualification.Caution,
            Words("placedIn", "placed in"), Words("convention", "convention"), Number("units", "units"), Amount("basis", "basis"), Amount("deduction", "deduction"));
        var year = month.Fleet.TaxYear(month.Totals.Month.Year);
        foreach (var group in year.Lines.GroupBy(line => (line.Unit.PlacedInServiceOn.Year, line.Convention)).OrderBy(group => group.Key.Year))
        {
            table.Line(
                null, Cell.Of(group.Key.Year.ToString(System.Globalization.CultureInfo.InvariantCulture)),
                Cell.Of(group.Key.Convention == DepreciationConvention.HalfYear ? "half-year" : "mid-quarter"),
                Cell.Of(group.Count()), Cell.Of(Sum(group, line => line.Unit.Cost)), Cell.Of(Sum(group, line => line.Deduction)));
        }

        return table.Total(
            Cell.Nothing, Cell.Of("total"), Cell.Of(year.Lines.Length), Cell.Of(Sum(year.Lines, line => line.Unit.Cost)), Cell.Of(year.Deduction)).Done();
    }

    private static Money Sum(IEnumerable<TaxLine> lines, Func<TaxLine, Money> part) =>
        lines.Aggregate(Money.Zero, (sum, line) => sum + part(line));
}
