using System.Collections.Immutable;
using NodaTime;

namespace Contracts.Books.Depreciation;

/// <summary>
/// Depreciation of the whole fleet, for the books by month and for federal tax by calendar year. It knows the units and
/// nothing else: contracts come and go without it. Not tax advice.
/// </summary>
public sealed class FleetSchedule
{
    private readonly ImmutableArray<DepreciableUnit> units;
    private readonly BookDepreciationPolicy policy;
    private readonly IReadOnlyDictionary<int, OtherProperty> others;
    private readonly Dictionary<int, PlacedInYear> placed;

    /// <summary>The schedule of a fleet.</summary>
    /// <param name="units">Every unit ever placed in service that matters to the years asked for, gone ones included.</param>
    /// <param name="policy">The book policy.</param>
    /// <param name="others">Other depreciable property by calendar year, for the mid-quarter test; none when left out.</param>
    public FleetSchedule(
        IEnumerable<DepreciableUnit> units, BookDepreciationPolicy policy, IReadOnlyDictionary<int, OtherProperty>? others = null)
    {
        ArgumentNullException.ThrowIfNull(policy);
        this.units = [.. units];
        this.policy = policy;
        this.others = others ?? ImmutableDictionary<int, OtherProperty>.Empty;
        placed = this.units.GroupBy(unit => unit.PlacedInServiceOn.Year)
            .ToDictionary(year => year.Key, year => PlacedInYear.Of(year.Key, year, this.others.GetValueOrDefault(year.Key)));
    }

    /// <summary>Accumulated book depreciation over a month. The charge does not depend on where the unit was that month.</summary>
    public BookMonth BookMonth(YearMonth month)
    {
        var lines = units.Where(unit => unit.PlacedIn <= month && !(unit.DisposedIn < month)).Select(unit =>
        {
            var line = new StraightLine(unit, policy);
            var leaves = unit.DisposedIn == month;
            var accumulated = line.AccumulatedThrough(month);
            var opening = line.AccumulatedThrough(month.PlusMonths(-1));
            return new UnitMonth(unit.Serial, unit.Cost, opening, accumulated - opening, leaves ? accumulated : Money.Zero, leaves);
        });
        return new BookMonth(month, [.. lines]);
    }

    /// <summary>
    /// Deductions of a calendar tax year. Each unit keeps the convention of its own year, whatever this year's is.
    /// </summary>
    public TaxYear TaxYear(int year)
    {
        var lines = units.Where(unit => unit.PlacedInServiceOn.Year <= year && !(unit.DisposedOn?.Year < year)).Select(unit =>
        {
            var convention = placed[unit.PlacedInServiceOn.Year].Convention;
            return new TaxLine(
                unit, convention, Macrs.TableFor(convention, unit.PlacedInServiceOn), year - unit.PlacedInServiceOn.Year + 1,
                Macrs.DeductionIn(unit, convention, year));
        });
        return new TaxYear(PlacedIn(year), [.. lines]);
    }

    /// <summary>What was placed in service in a calendar year, and the convention of all of it.</summary>
    public PlacedInYear PlacedIn(int year) =>
        placed.TryGetValue(year, out var known) ? known : PlacedInYear.Of(year, [], others.GetValueOrDefault(year));
}
