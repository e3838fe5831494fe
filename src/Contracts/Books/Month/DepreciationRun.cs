using System.Collections.Immutable;
using Contracts.Books.Depreciation;

namespace Contracts.Books.Month;

/// <summary>
/// What brings the accumulated depreciation in the books to what the fleet known now asks for at the end of a month: the
/// month's charge, what left with units that were sold or lost, and whatever later knowledge changed about months before.
/// </summary>
public static class DepreciationRun
{
    /// <summary>The lines of the run, all on the last day of the month; none when nothing is to be posted.</summary>
    public static ImmutableArray<BookLine> Lines(MonthTotals totals, PortfolioMonth portfolio, BookDepreciationPolicy policy)
    {
        var (charged, sold, lost) = (Money.Zero, Money.Zero, Money.Zero);
        foreach (var unit in portfolio.Fleet(PropertyClass.ThreeYear))
        {
            var accumulated = new StraightLine(unit, policy).AccumulatedThrough(totals.Month);
            charged += accumulated;
            if (unit.DisposedOn is null) { continue; }
            if (portfolio.WasLost(unit.Serial)) { lost += accumulated; }
            else { sold += accumulated; }
        }

        var lines = ImmutableArray.CreateBuilder<BookLine>();
        Post(BookAccount.FleetDepreciation, charged - Posted(totals, BookAccount.FleetDepreciation, Movement.Depreciated), Movement.Depreciated);
        Post(BookAccount.CostOfInstrumentsSold, Money.Zero - sold - Posted(totals, BookAccount.CostOfInstrumentsSold, Movement.Disposed), Movement.Disposed);
        Post(BookAccount.UnitsLost, Money.Zero - lost - Posted(totals, BookAccount.UnitsLost, Movement.Disposed), Movement.Disposed);
        return lines.ToImmutable();

        void Post(BookAccount account, Money amount, Movement movement)
        {
            if (amount == Money.Zero) { return; }
            lines.Add(new BookLine(account, movement, "", totals.Last, null, amount));
            lines.Add(new BookLine(BookAccount.AccumulatedDepreciation, movement, "", totals.Last, null, Money.Zero - amount));
        }
    }

    private static Money Posted(MonthTotals totals, BookAccount account, Movement movement) => totals.Before.Concat(totals.During)
        .Where(total => total.Account == account && total.Movement == movement)
        .Aggregate(Money.Zero, (sum, total) => sum + total.Amount);
}
