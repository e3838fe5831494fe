namespace Contracts.Books.Depreciation;

/// <summary>
/// The depreciable property of a calendar year that is not in the fleet, such as shelves, tools or a van: the mid-quarter
/// test counts all of it, real property and what came and went within the year left out.
/// </summary>
/// <param name="Placed">Its basis placed in service in the year, in whole cents.</param>
/// <param name="InLastQuarter">The part of it placed in service from October to December.</param>
public sealed record OtherProperty(Money Placed, Money InLastQuarter)
{
    /// <summary>No other property.</summary>
    public static OtherProperty None { get; } = new(Money.Zero, Money.Zero);
}

/// <summary>
/// What was placed in service in one calendar year, and the convention that follows from it for all of that year's
/// property and its whole life. Final only when the year is over: a purchase or a disposal in December can change it.
/// </summary>
/// <param name="Year">The calendar year.</param>
/// <param name="Placed">The basis that counts, other property included.</param>
/// <param name="InLastQuarter">The part of it placed in service from October to December.</param>
/// <param name="LeftOut">The basis of units placed in service and disposed of in this same year, in neither sum.</param>
public sealed record PlacedInYear(int Year, Money Placed, Money InLastQuarter, Money LeftOut)
{
    /// <summary>
    /// Mid-quarter when more than 40 % of the basis came in the last three months, half-year otherwise and at exactly 40 %
    /// (26 USC 168(d)(3)(A), read). Exact, without rounding.
    /// </summary>
    public DepreciationConvention Convention =>
        InLastQuarter.Times(5) > Placed.Times(2) ? DepreciationConvention.MidQuarter : DepreciationConvention.HalfYear;

    /// <summary>The sums of one year; what came and went in the year is left out (168(d)(3)(B)(ii), read).</summary>
    public static PlacedInYear Of(int year, IEnumerable<DepreciableUnit> units, OtherProperty? other = null)
    {
        ArgumentNullException.ThrowIfNull(units);
        var (placed, late) = other ?? OtherProperty.None;
        var leftOut = Money.Zero;
        foreach (var unit in units)
        {
            if (unit.PlacedInServiceOn.Year != year) { continue; }
            if (unit.GoneInItsFirstYear)
            {
                leftOut += unit.Cost;
                continue;
            }

            placed += unit.Cost;
            if (unit.PlacedInServiceOn.Month >= 10) { late += unit.Cost; }
        }

        return new PlacedInYear(year, placed, late, leftOut);
    }
}
