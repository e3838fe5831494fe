using System.Collections.Immutable;
using Contracts.Books.Depreciation;
using Contracts.Terms;
using NodaTime;
using Xunit;

namespace Contracts.Tests.Books.Depreciation;

/// <summary>
/// Tax depreciation beyond the published examples. Rules from 26 USC 168(d), read; figures made here with the percentages
/// of IRS Publication 946, tables.
/// </summary>
public sealed class TaxDepreciationTests
{
    [Fact]
    public void A_unit_keeps_the_convention_of_its_own_year()
    {
        var fleet = new FleetSchedule(
            [Unit("FH-1", "412.00", new LocalDate(2025, 8, 1)), Unit("FH-2", "780.00", new LocalDate(2025, 12, 1)), Unit("FH-3", "500.00", new LocalDate(2026, 2, 1))],
            BookDepreciationPolicy.Default);
        var year = fleet.TaxYear(2026);
        Assert.Equal(DepreciationConvention.HalfYear, year.Placed.Convention);
        Assert.Equal(
            ["FH-1 A4 2 206.00", "FH-2 A5 2 476.66", "FH-3 A1 1 166.65"],
            year.Lines.Select(line => $"{line.Unit.Serial} {line.Table} {line.RecoveryYear} {line.Deduction}"));
        Assert.Equal("849.31", year.Deduction.ToString());
    }

    [Fact]
    public void Other_property_of_the_shop_counts_in_the_test()
    {
        DepreciableUnit[] units = [Unit("FH-1", "6000.00", new LocalDate(2025, 3, 1)), Unit("FH-2", "4000.00", new LocalDate(2025, 11, 1))];
        var van = new Dictionary<int, OtherProperty> { [2025] = new(Money.Parse("5000.00"), Money.Parse("5000.00")) };
        Assert.Equal(DepreciationConvention.HalfYear, new FleetSchedule(units, BookDepreciationPolicy.Default).PlacedIn(2025).Convention);
        var placed = new FleetSchedule(units, BookDepreciationPolicy.Default, van).TaxYear(2025).Placed;
        Assert.Equal(
            (DepreciationConvention.MidQuarter, "15000.00", "9000.00"), (placed.Convention, placed.Placed.ToString(), placed.InLastQuarter.ToString()));
    }

    [Fact]
    public void What_comes_and_goes_within_a_year_deducts_nothing_and_leaves_the_test()
    {
        var fleet = new FleetSchedule(
            [Unit("FH-1", "500.00", new LocalDate(2025, 5, 1)), Unit("FH-2", "900.00", new LocalDate(2025, 10, 1), new LocalDate(2025, 12, 31))],
            BookDepreciationPolicy.Default);
        var year = fleet.TaxYear(2025);
        Assert.Equal(DepreciationConvention.HalfYear, year.Placed.Convention);
        Assert.Equal(("500.00", "0.00", "900.00"), (year.Placed.Placed.ToString(), year.Placed.InLastQuarter.ToString(), year.Placed.LeftOut.ToString()));
        Assert.Equal(["166.65", "0.00"], year.Lines.Select(line => line.Deduction.ToString()));
        Assert.Equal("FH-1", Assert.Single(fleet.TaxYear(2026).Lines).Unit.Serial);
    }

    [Theory]
    [InlineData("2025-06-01", "2028-02-01", DepreciationConvention.HalfYear, "74.10")] // recovery ends at mid-year, so does the unit
    [InlineData("2025-06-01", "2027-02-01", DepreciationConvention.HalfYear, "74.05")] // half of 14.81 % in year 3
    [InlineData("2025-11-01", "2028-02-01", DepreciationConvention.MidQuarter, "14.56")] // 1.5 of the 10.5 months of 101.90
    [InlineData("2025-11-01", "2028-12-01", DepreciationConvention.MidQuarter, "101.90")]
    [InlineData("2025-02-01", "2028-12-01", DepreciationConvention.MidQuarter, "15.40")] // recovery had ended in the first quarter
    [InlineData("2025-02-01", "2030-12-01", DepreciationConvention.MidQuarter, "0.00")]
    public void In_the_last_year_a_disposal_costs_only_the_months_after_it(string placed, string disposed, DepreciationConvention convention, string expected)
    {
        var gone = NodaTime.Text.LocalDatePattern.Iso.Parse(disposed).GetValueOrThrow();
        var unit = Unit("FH-1", "1000.00", NodaTime.Text.LocalDatePattern.Iso.Parse(placed).GetValueOrThrow(), gone);
        Assert.Equal(expected, Macrs.DeductionIn(unit, convention, gone.Year).ToString());
    }

    [Fact]
    public void Over_its_life_a_unit_deducts_its_cost_in_every_class_and_table()
    {
        foreach (var propertyClass in Enum.GetValues<PropertyClass>())
        {
            for (var cents = 1; cents < 100_000; cents += 997)
            {
                foreach (var (convention, month) in new[] { (DepreciationConvention.HalfYear, 6), (DepreciationConvention.MidQuarter, (cents % 12) + 1) })
                {
                    var unit = new DepreciableUnit("FH-1", new Money(cents), propertyClass, new LocalDate(2025, month, 9));
                    Assert.Equal(cents, Enumerable.Range(2025, 10).Sum(year => Macrs.DeductionIn(unit, convention, year).Cents));
                }
            }
        }
    }

    [Fact]
    public void An_introductory_price_in_the_terms_breaks_level_and_regular_payments()
    {
        var plain = Answers(Terms(0, "0.00", "1134.00"));
        Assert.Equal(ConditionAnswer.Met, plain["level payments, or falling ones with none under 40 % of the largest"]);
        Assert.Equal(ConditionAnswer.Met, plain["regular payments by week or month"]);
        var introductory = Answers(Terms(3, "30.00", "1134.00"));
        Assert.Equal(ConditionAnswer.NotMet, introductory["level payments, or falling ones with none under 40 % of the largest"]);
        Assert.Equal(ConditionAnswer.NotMet, introductory["regular payments by week or month"]);
        Assert.Equal(ConditionAnswer.NotMet, Answers(Terms(0, "0.00", "1140.00"))["level payments, or falling ones with none under 40 % of the largest"]);
    }

    [Fact]
    public void A_schedule_within_36_months_is_not_enough_while_holds_may_move_it()
    {
        const string asks = "at most 36 months or 156 weeks with renewals";
        Assert.Equal(ConditionAnswer.NotKnown, Answers(Terms(0, "0.00", "1134.00"))[asks]);
        Assert.Equal(ConditionAnswer.NotMet, Answers(Terms(0, "0.00", "1165.50"))[asks]);
        Assert.Equal(ConditionAnswer.NotMet, Answers(Terms(3, "31.50", "1134.00"))[asks]);
        var stated = RentToOwnFacts.From(Terms(0, "0.00", "1134.00")) with { MaximumMonths = 36 };
        Assert.Equal(ConditionAnswer.Met, Answer(stated, asks));
        Assert.Equal(ConditionAnswer.NotMet, Answer(stated with { ScheduledMonths = 37 }, asks));
    }

    [Fact]
    public void The_whole_is_broken_by_one_condition_and_met_by_all()
    {
        var told = new RentToOwnFacts
        {
            ManyContractsEndInReturn = true, UsedInTheHome = true, TitledRentToOwn = true, ShopKeepsTitle = true, FamilyMayStop = true, FamilyMayDispose = false,
            Payments = [Money.Parse("38.00"), Money.Parse("38.00")], Period = PaymentPeriod.Month, MaximumMonths = 36,
        };
        Assert.Equal(ConditionAnswer.NotKnown, RentToOwnQualification.Of(told).Answer);
        Assert.Equal(ConditionAnswer.NotMet, RentToOwnQualification.Of(told with { FamilyMayDispose = true }).Answer);
        Assert.Equal(ConditionAnswer.NotKnown, RentToOwnQualification.Of(new RentToOwnFacts()).Answer);
        Assert.All(RentToOwnQualification.Of(new RentToOwnFacts()).Conditions, condition => Assert.Equal(ConditionAnswer.NotKnown, condition.Answer));
        Assert.Equal(
            ConditionAnswer.Met,
            new RentToOwnQualification([new QualificationCondition("168(i)(14)(B)", "one", ConditionAnswer.Met, "as told")]).Answer);
    }

    private static Dictionary<string, ConditionAnswer> Answers(ContractTerms terms) =>
        RentToOwnQualification.Of(RentToOwnFacts.From(terms)).Conditions.ToDictionary(condition => condition.Asks, condition => condition.Answer);

    private static ConditionAnswer Answer(RentToOwnFacts facts, string asks) =>
        RentToOwnQualification.Of(facts).Conditions.Single(condition => condition.Asks == asks).Answer;

    private static ContractTerms Terms(int months, string payment, string price) => new(
        Money.Parse("899.00"), Money.Parse(price), new IntroductoryPeriod(months, Money.Parse(payment)), Money.Parse("31.50"), Rate.Whole,
        ImmutableArray<EarlyPurchaseTier>.Empty, null, new LateFeeTerms(Money.Zero, 0), Money.Zero);

    private static DepreciableUnit Unit(string serial, string cost, LocalDate placed, LocalDate? disposed = null) =>
        new(serial, Money.Parse(cost), PropertyClass.ThreeYear, placed, disposed);
}
