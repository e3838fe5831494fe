using NodaTime;

namespace Contracts.Books.Depreciation;

/// <summary>
/// Book depreciation of one unit. A full month counts for the month placed in service and none for the month of
/// disposal. Each figure is <c>round(base x months / life)</c> from the start, half away from zero to the cent, and a
/// month's charge is the difference of two such figures: cents never drift and the whole life adds up to the base.
/// </summary>
public sealed class StraightLine
{
    private readonly YearMonth placed;
    private readonly YearMonth? disposed;
    private readonly int life;

    /// <summary>The depreciation of a unit under a policy.</summary>
    public StraightLine(DepreciableUnit unit, BookDepreciationPolicy policy)
    {
        ArgumentNullException.ThrowIfNull(unit);
        ArgumentNullException.ThrowIfNull(policy);
        placed = unit.PlacedIn;
        disposed = unit.DisposedIn;
        life = policy.Months;
        Base = unit.Cost - policy.SalvageOf(unit.Cost);
    }

    /// <summary>What is depreciated over the whole life: cost less salvage, in whole cents.</summary>
    public Money Base { get; }

    /// <summary>Depreciation charged from the start to the end of a month; after a disposal it stays what it was then.</summary>
    public Money AccumulatedThrough(YearMonth month)
    {
        var last = disposed is { } gone && gone <= month ? gone.PlusMonths(-1) : month;
        var months = ((last.Year - placed.Year) * 12) + last.Month - placed.Month + 1;
        return Rate.Fraction(Base, Math.Clamp(months, 0, life), life);
    }

    /// <summary>The charge of one month, in whole cents: the difference of two accumulated figures.</summary>
    public Money ChargeIn(YearMonth month) => AccumulatedThrough(month) - AccumulatedThrough(month.PlusMonths(-1));
}
