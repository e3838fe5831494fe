using Contracts.Explain;
using Contracts.Tests.Support;
using NodaTime;
using NodaTime.Text;
using Xunit;

namespace Contracts.Tests.Explain;

/// <summary>What made a difference, told apart: a late arrival, the passing of time, and what came while time passed.</summary>
public sealed class CompareTests
{
    private const string Life = """
        2026-09-05 sign
        2026-09-05 pay amount=45.00 method=cash
        2026-11-05 @2026-11-20 pay amount=38.00 method=check
        2026-12-05 pay amount=38.00 method=card
        """;

    [Fact]
    public void A_late_arrival_is_knowledge_and_an_installment_is_time_and_a_new_payment_is_both()
    {
        var comparison = Compare(Life, ("2026-11-10", "2026-11-10"), ("2026-12-06", "2026-12-06"));
        Assert.Equal(
            [
                "38.00 Knowledge 2026-11-05 L3 backdated", "38.00 Both 2026-12-05 L4",
            ], Because(comparison, "equity"));
        // The late fee that the late payment spares is none yet on 10 November: M40.
        Assert.Equal(["-38.00 Knowledge 2026-11-05 L3 backdated", "38.00 Time 2026-12-05", "-38.00 Both 2026-12-05 L4"], Because(comparison, "pastDue"));
        Assert.Contains(comparison.Words, word => word == new WordDifference("nextDue.on", "2026-12-05", "2027-01-05"));
    }

    [Fact]
    public void Time_alone_moves_the_price_when_a_discount_ends()
    {
        // Three months at 40 % end on 5 December, when the third installment falls due as well; the price moves by both.
        var comparison = Compare("2026-09-05 sign\n2026-09-05 pay amount=45.00 method=cash", ("2026-12-04", "2026-12-31"), ("2026-12-05", "2026-12-31"));
        var (cause, amount) = Assert.Single(comparison.Figures.Single(figure => figure.Figure == "earlyPurchase.price").Because);
        Assert.Equal((DifferenceBy.Time, "falls due: installment:2026-12-05", null), (cause.By, cause.Says, cause.Event));
        // (1195 - 83) x 0.6 = 667.20 and (1195 - 121) x 0.7 = 751.80.
        Assert.Equal(8460, amount);
    }

    [Fact]
    public void A_discount_that_ends_on_a_day_of_its_own_is_that_days_doing()
    {
        // Six introductory months: nothing falls due on 5 December, when the 40 % end.
        var comparison = Compare("2026-09-05 sign intro=6x45.00\n2026-09-05 pay amount=45.00 method=cash", ("2026-11-20", "2026-12-31"), ("2026-12-20", "2026-12-31"));
        var (cause, amount) = Assert.Single(comparison.Figures.Single(figure => figure.Figure == "earlyPurchase.price").Because);
        Assert.Equal((DifferenceBy.Time, new LocalDate(2026, 12, 5), null), (cause.By, cause.On, cause.Event));
        // 1150.00 x 0.7 less 1150.00 x 0.6.
        Assert.Equal(11500, amount);
    }

    [Fact]
    public void A_tax_rate_that_was_learned_is_a_step_of_knowledge_without_an_event_of_the_contract()
    {
        var shop = Script.Given("2026-09-05 sign jurisdiction=taxed intro=0x0.00 rent=50.00").Shop;
        Assert.Null(shop.Apply(
            """{"do":"set-tax","key":"later","at":"2026-11-20T17:00:00Z","jurisdiction":"taxed","rate":"0.10","from":"2026-12-01","taxes":{"rent":true,"plan":true,"fees":true,"sale":true}}"""));
        var comparison = Comparison.Of(View(shop, ("2026-12-06", "2026-11-19")), View(shop, ("2026-12-06", "2026-11-20")), InMemoryShop.Zone)!;
        var (cause, amount) = Assert.Single(comparison.Figures.Single(figure => figure.Figure == "pastDue").Because);
        Assert.Equal((DifferenceBy.Knowledge, null, null, 100), (cause.By, cause.On, cause.Event, amount));
    }

    [Fact]
    public void A_late_fee_that_knowledge_takes_away_is_the_payments_doing()
    {
        var comparison = Compare(Life, ("2026-11-15", "2026-11-15"), ("2026-11-15", "2026-11-20"));
        Assert.Equal(["-43.00 Knowledge 2026-11-05 L3 backdated"], Because(comparison, "pastDue"));
    }

    [Fact]
    public void Looking_back_turns_the_signs_and_forgets_the_last_learned_first()
    {
        var comparison = Compare(Life, ("2026-12-06", "2026-12-06"), ("2026-11-10", "2026-11-10"));
        Assert.Equal(["-38.00 Knowledge 2026-12-05 L4", "-38.00 Knowledge 2026-11-05 L3 backdated"], Because(comparison, "equity"));
        // Without the late payment the November installment has brought a late fee by 6 December, and none yet on 10 November.
        Assert.Equal(
            ["38.00 Knowledge 2026-12-05 L4", "43.00 Knowledge 2026-11-05 L3 backdated", "-38.00 Time 2026-12-05", "-5.00 Time 2026-11-13"], Because(comparison, "pastDue"));
    }

    [Fact]
    public void The_same_view_twice_has_no_difference_and_before_the_signing_every_figure_is_nothing()
    {
        var same = Compare(Life, ("2026-11-10", "2026-11-10"), ("2026-11-10", "2026-11-10"));
        Assert.True(same.Figures.IsEmpty && same.Words.IsEmpty);
        var born = Compare(Life, ("2026-09-01", "2026-12-31"), ("2026-09-05", "2026-12-31"));
        Assert.Equal(["45.00 Time 2026-09-05 L2"], Because(born, "equity"));
        Assert.Equal(["1195.00 Time 2026-09-05 L1", "-45.00 Time 2026-09-05 L2"], Because(born, "remainingToOwn"));
    }

    private static IEnumerable<string> Because(Comparison comparison, string figure) => comparison.Figures.Single(one => one.Figure == figure).Because.Select(one =>
        $"{new Money(one.Amount)} {one.Cause.By} {LocalDatePattern.Iso.Format(one.Cause.On!.Value)} {one.Cause.Event?.Key}{(one.Cause.Backdated ? " backdated" : "")}".TrimEnd());

    private static Comparison Compare(string life, (string On, string Known) from, (string On, string Known) to)
    {
        var shop = Script.Given(life).Shop;
        return Comparison.Of(View(shop, from), View(shop, to), InMemoryShop.Zone)!;
    }

    private static ComparedView View(InMemoryShop shop, (string On, string Known) view)
    {
        var known = (LocalDatePattern.Iso.Parse(view.Known).Value.PlusDays(1).AtStartOfDayInZone(InMemoryShop.Zone)).ToInstant();
        return new ComparedView(LocalDatePattern.Iso.Parse(view.On).Value, known, shop.History("C-1").AsKnownAt(known), shop.RatesAt(known));
    }
}
