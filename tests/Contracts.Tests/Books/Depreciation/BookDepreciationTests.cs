using Contracts.Books.Depreciation;
using NodaTime;
using Xunit;

namespace Contracts.Tests.Books.Depreciation;

/// <summary>
/// Book depreciation by month. The rule is the shop's own: straight line with cumulative rounding; figures made here.
/// </summary>
public sealed class BookDepreciationTests
{
    private static readonly string[] FirstTwelve =
        ["5.49", "5.50", "5.49", "5.49", "5.50", "5.49", "5.49", "5.50", "5.49", "5.49", "5.50", "5.49"];

    [Fact]
    public void Sixty_months_of_329_60_never_drift_from_the_base()
    {
        var line = new StraightLine(Unit("412.00", new LocalDate(2025, 8, 31)), BookDepreciationPolicy.Default);
        var first = new YearMonth(2025, 8);
        var charges = Enumerable.Range(0, 60).Select(n => line.ChargeIn(first.PlusMonths(n))).ToArray();
        Assert.Equal(Money.Parse("329.60"), line.Base);
        Assert.Equal(FirstTwelve, charges.Take(12).Select(charge => charge.ToString()));
        Assert.All(charges, charge => Assert.InRange(charge.Cents, 549, 550));
        Assert.Equal(line.Base.Cents, charges.Sum(charge => charge.Cents));
        Assert.Equal(Money.Zero, line.ChargeIn(first.PlusMonths(-1)));
        Assert.Equal(Money.Zero, line.ChargeIn(first.PlusMonths(60)));
        Assert.Equal(line.Base, line.AccumulatedThrough(first.PlusMonths(600)));
    }

    [Fact]
    public void A_full_month_counts_at_the_start_and_none_at_the_end()
    {
        // Placed on the last of March, gone on the last of July: March to June, four months of 238.40 / 60.
        var line = new StraightLine(Unit("298.00", new LocalDate(2026, 3, 31), new LocalDate(2026, 7, 31)), BookDepreciationPolicy.Default);
        Assert.Equal("3.97", line.ChargeIn(new YearMonth(2026, 3)).ToString());
        Assert.Equal("15.89", line.AccumulatedThrough(new YearMonth(2026, 6)).ToString());
        Assert.Equal(Money.Zero, line.ChargeIn(new YearMonth(2026, 7)));
        Assert.Equal("15.89", line.AccumulatedThrough(new YearMonth(2030, 1)).ToString());
    }

    [Fact]
    public void The_fleet_rolls_forward_unit_by_unit_and_in_total()
    {
        var fleet = new FleetSchedule(
            [
                Unit("298.00", new LocalDate(2026, 3, 5), new LocalDate(2026, 7, 20)),
                Unit("412.00", new LocalDate(2026, 7, 1)),
                Unit("412.00", new LocalDate(2026, 8, 1)),
                Unit("90.00", new LocalDate(2026, 7, 2), new LocalDate(2026, 7, 30)),
            ],
            BookDepreciationPolicy.Default);
        var july = fleet.BookMonth(new YearMonth(2026, 7));
        Assert.Equal(
            ["15.89 0.00 15.89 0.00 282.11", "0.00 5.49 0.00 5.49 0.00", "0.00 0.00 0.00 0.00 90.00"],
            july.Lines.Select(line => $"{line.Opening} {line.Charge} {line.Disposal} {line.Closing} {line.CarryingAmountOut}"));
        Assert.Equal(
            "15.89 5.49 15.89 5.49 372.11", $"{july.Opening} {july.Charge} {july.Disposals} {july.Closing} {july.CarryingAmountOut}");
        Assert.Equal(["5.49 5.50", "0.00 5.49"], fleet.BookMonth(new YearMonth(2026, 8)).Lines.Select(line => $"{line.Opening} {line.Charge}"));
    }

    [Fact]
    public void What_a_month_closes_with_the_next_opens_with()
    {
        var start = new LocalDate(2024, 1, 31);
        var fleet = new FleetSchedule(
            Enumerable.Range(0, 40).Select(n => Unit($"{100 + (17 * n)}.37", start.PlusDays(19 * n), n % 3 == 0 ? start.PlusDays((19 * n) + (41 * n)) : null)),
            new BookDepreciationPolicy(37, Rate.Parse("0.15")));
        var before = Money.Zero;
        for (var month = start.ToYearMonth(); month < new YearMonth(2032, 1); month = month.PlusMonths(1))
        {
            var now = fleet.BookMonth(month);
            Assert.Equal(before, now.Opening);
            Assert.Equal(now.Closing, now.Opening + now.Charge - now.Disposals);
            Assert.All(now.Lines, line => Assert.True(line.Charge >= Money.Zero && line.Closing <= line.Cost, $"{month} {line}"));
            before = now.Closing;
        }
    }

    [Fact]
    public void A_policy_or_a_unit_that_cannot_be_is_refused()
    {
        Assert.Equal((60, Rate.Parse("0.2")), (BookDepreciationPolicy.Default.Months, BookDepreciationPolicy.Default.Salvage));
        Assert.Throws<ArgumentOutOfRangeException>(() => new BookDepreciationPolicy(0, Rate.Nothing));
        Assert.Throws<ArgumentOutOfRangeException>(() => new BookDepreciationPolicy(60, Rate.Parse("1.01")));
        Assert.Throws<ArgumentOutOfRangeException>(() => Unit("-0.01", new LocalDate(2026, 1, 1)));
        Assert.Throws<ArgumentOutOfRangeException>(() => Unit("1.00", new LocalDate(2026, 1, 2), new LocalDate(2026, 1, 1)));
    }

    private static DepreciableUnit Unit(string cost, LocalDate placed, LocalDate? disposed = null) =>
        new($"FH-{placed.DayOfYear}", Money.Parse(cost), PropertyClass.ThreeYear, placed, disposed);
}
