using System.Collections.Immutable;

namespace Contracts.Books.Depreciation;

/// <summary>One unit's federal deduction in a calendar tax year.</summary>
/// <param name="Unit">The unit; its cost is its unadjusted basis.</param>
/// <param name="Convention">The convention of the year in which it was placed in service.</param>
/// <param name="Table">The table of Publication 946 its rates come from.</param>
/// <param name="RecoveryYear">Which tax year of its life this is, the first being 1.</param>
/// <param name="Deduction">The deduction, in whole cents.</param>
public sealed record TaxLine(DepreciableUnit Unit, DepreciationConvention Convention, MacrsTable Table, int RecoveryYear, Money Deduction);

/// <summary>The fleet's federal deductions in one calendar tax year, unit by unit in the order given and in total.</summary>
/// <param name="Placed">What was placed in service in this year, and the convention that gives.</param>
/// <param name="Lines">The units that were in the fleet on some day of the year.</param>
public sealed record TaxYear(PlacedInYear Placed, ImmutableArray<TaxLine> Lines)
{
    /// <summary>The calendar year.</summary>
    public int Year => Placed.Year;

    /// <summary>All deductions, in whole cents.</summary>
    public Money Deduction { get; } = Lines.Aggregate(Money.Zero, (sum, line) => sum + line.Deduction);
}
