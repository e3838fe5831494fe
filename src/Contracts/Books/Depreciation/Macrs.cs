using NodaTime;

namespace Contracts.Books.Depreciation;

/// <summary>
/// Federal tax depreciation (MACRS, general system) of one unit by the published percentage tables. Calendar tax years
/// of twelve months. No bonus depreciation, no section 179, no alternative system, no state rules. Not tax advice.
/// </summary>
public static class Macrs
{
    private const long HundredthsOfPercent = 10_000;
    private const int Eighths = 8;

    /// <summary>The table of a convention and a day placed in service.</summary>
    public static MacrsTable TableFor(DepreciationConvention convention, LocalDate placedInServiceOn) => convention switch
    {
        DepreciationConvention.HalfYear => MacrsTable.A1,
        DepreciationConvention.MidQuarter => MacrsTable.A1 + QuarterOf(placedInServiceOn),
        _ => throw new ArgumentOutOfRangeException(nameof(convention), convention, "No such convention."),
    };

    /// <summary>Tax years over which a class is deducted: its recovery period and one more, since the first is a part.</summary>
    public static int YearsOf(PropertyClass propertyClass) => (int)propertyClass + 1;

    /// <summary>
    /// The share of the unadjusted basis that the table gives for a tax year, the first being 1; nothing outside the table.
    /// Source: IRS Publication 946, Appendix A, tables.
    /// </summary>
    public static Rate TableRate(PropertyClass propertyClass, MacrsTable table, int year)
    {
        var column = MacrsTables.Column(propertyClass, table);
        return year >= 1 && year <= column.Length ? new Rate(column[year - 1] * HundredthsOfPercent) : Rate.Nothing;
    }

    /// <summary>
    /// The part of a full year's deduction that is left in the year of disposal: half under the half-year convention;
    /// 12.5, 37.5, 62.5 or 87.5 % by the quarter of disposal under mid-quarter. It follows from the mid-points of
    /// 26 USC 168(d)(4), read; the figures are printed in Publication 946, chapter 4 (12.5 % read, the others from memory).
    /// </summary>
    public static Rate DisposalFactor(DepreciationConvention convention, LocalDate disposedOn) => convention switch
    {
        DepreciationConvention.HalfYear => new Rate(Rate.Whole.Units / 2),
        DepreciationConvention.MidQuarter => new Rate(Rate.Whole.Units / Eighths * ((2 * QuarterOf(disposedOn)) - 1)),
        _ => throw new ArgumentOutOfRangeException(nameof(convention), convention, "No such convention."),
    };

    /// <summary>
    /// What a unit may deduct in a calendar tax year, rounded once, half away from zero to the cent. The last year takes
    /// what is left of the basis, so that all years add up to the cost. A unit that came and went within one year deducts
    /// nothing (Instructions for Form 4562, read as quoted by others; 26 CFR 1.168(d)-1(b)(3)(ii), from memory); nor is
    /// there a deduction after a disposal.
    /// </summary>
    /// <param name="unit">The unit.</param>
    /// <param name="convention">The convention of the year in which the unit was placed in service, for its whole life.</param>
    /// <param name="taxYear">The calendar year.</param>
    public static Money DeductionIn(DepreciableUnit unit, DepreciationConvention convention, int taxYear)
    {
        ArgumentNullException.ThrowIfNull(unit);
        var year = taxYear - unit.PlacedInServiceOn.Year + 1;
        var last = YearsOf(unit.TaxClass);
        if (year < 1 || year > last || unit.GoneInItsFirstYear || unit.DisposedOn?.Year < taxYear) { return Money.Zero; }
        var table = TableFor(convention, unit.PlacedInServiceOn);
        if (year == last) { return LastYear(unit, convention, table); }
        var rate = TableRate(unit.TaxClass, table, year);
        return unit.DisposedOn is { } gone && gone.Year == taxYear
            ? Product(rate, DisposalFactor(convention, gone)).Of(unit.Cost)
            : rate.Of(unit.Cost);
    }

    /// <summary>
    /// The remaining basis. The recovery period ends within this year, at the mid-point from which it began. A disposal
    /// taken to be at or after that point loses nothing; an earlier one keeps the months before it. Own reading of
    /// 168(d)(4): Publication 946 gives its factors for disposals before the end of the recovery period.
    /// </summary>
    private static Money LastYear(DepreciableUnit unit, DepreciationConvention convention, MacrsTable table)
    {
        var left = unit.Cost;
        for (var year = 1; year < YearsOf(unit.TaxClass); year++) { left -= TableRate(unit.TaxClass, table, year).Of(unit.Cost); }
        if (convention == DepreciationConvention.HalfYear || unit.DisposedOn is not { } gone
            || gone.Year != unit.PlacedInServiceOn.Year + YearsOf(unit.TaxClass) - 1)
        {
            return left;
        }

        var endsIn = (2 * QuarterOf(unit.PlacedInServiceOn)) - 1;
        var goneIn = (2 * QuarterOf(gone)) - 1;
        return goneIn >= endsIn ? left : Rate.Fraction(left, goneIn, endsIn);
    }

    /// <summary>Exact: a rate of four decimals times a factor of three has seven.</summary>
    private static Rate Product(Rate rate, Rate factor) =>
        new(checked((long)((Int128)rate.Units * factor.Units / Rate.Whole.Units)));

    private static int QuarterOf(LocalDate day) => ((day.Month - 1) / 3) + 1;
}
