using Contracts.Agreements;
using Contracts.Law;
using Contracts.Tests.Support;
using Xunit;

namespace Contracts.Tests.Law;

/// <summary>What a missing unit may cost, in which order money pays, and how much of a payment has to count.</summary>
public sealed class LossAndOrderTests
{
    private const string Twenty = "cash=800.00 price=1000.00 rent=50.00 intro=0x0.00 tiers= late=0.00/7 plan=none";

    private static Money M(string amount) => Money.Parse(amount);

    /// <summary>Five of twenty payments of 50.00 made, cash price 800.00.</summary>
    [Theory]
    [InlineData("VT", "600.00", "9 V.S.A. § 41b(g)(7)")] // 800.00 x 15/20; half of what was paid off the cash price would be 675.00.
    [InlineData("CA", "550.00", "Cal. Civ. Code § 1812.627(a)")] // 800.00 - 250.00; the price to own is 800.00 x 15/20 = 600.00.
    [InlineData("MD", "750.00", null)] // The early purchase price itself.
    [InlineData("AR", "750.00", null)] // A rule between a secured creditor and the lessor: no limit for a family.
    [InlineData("OR", "750.00", null)]
    public void A_loss_costs_no_more_than_the_act_says(string state, string charge, string? section)
    {
        var script = Script.Given($"2026-09-05 sign state={state} {Twenty}\n2026-09-05 pay amount=250.00 method=cash");
        script.When("2027-01-20 report-loss kind=stolen").ThenAccepted();
        var loss = (ContractEvent.LossReported)script.Shop.History("C-1").Entries.Last(entry => entry.Event is ContractEvent.LossReported).Event;
        Assert.Equal((M(charge), section), (loss.Charge, loss.LimitedBy));
        Assert.Equal(M(charge), script.On("2027-01-20").OpenItems.Single(item => item.Kind == "loss").Open);
    }

    [Theory]
    [InlineData("419.99", "419.99", "Haw. Rev. Stat. § 481M-14(a)(3)")]
    [InlineData("600.00", "600.00", null)]
    [InlineData("600.01", "600.00", null)]
    public void What_the_unit_was_worth_limits_the_charge_where_the_act_says_so_and_somebody_said_it(string worth, string charge, string? section)
    {
        // 800.00 x 15/20 = 600.00 (Haw. Rev. Stat. § 481M-6).
        var life = $"2026-09-05 sign state=HI {Twenty}\n2026-09-05 pay amount=250.00 method=cash";
        var script = Script.Given(life).When($"2027-01-20 report-loss kind=lost marketValue={worth}").ThenAccepted();
        var loss = (ContractEvent.LossReported)script.Shop.History("C-1").Entries.Last(entry => entry.Event is ContractEvent.LossReported).Event;
        Assert.Equal((M(charge), section, M(worth)), (loss.Charge, loss.LimitedBy, loss.MarketValue));
        Script.Given(life).When("2027-01-20 report-loss kind=lost marketValue=-0.01").ThenRefused(RefusalCode.AmountInvalid);
    }

    [Fact]
    public void A_unit_that_does_not_come_back_after_a_swap_costs_no_more_than_a_lost_one()
    {
        var script = Script.Given($"2026-09-05 sign state=VT {Twenty}\n2026-09-05 pay amount=250.00 method=cash\n2027-01-20 swap serial=HC-2 returnBy=2027-02-01");
        var swap = (ContractEvent.InstrumentSwapped)script.Shop.History("C-1").Entries.Last(entry => entry.Event is ContractEvent.InstrumentSwapped).Event;
        Assert.Equal((M("600.00"), "9 V.S.A. § 41b(g)(7)"), (swap.UnreturnedFee, swap.LimitedBy));
        Assert.Equal(M("600.00"), script.On("2027-02-02").OpenItems.Single(item => item.Kind == "unreturned").Charged);
    }

    [Theory]
    [InlineData("CT", "2026-09-05")] // Conn. Gen. Stat. § 42-243(3): the most recent payment due comes first.
    [InlineData("OR", "2026-10-05")]
    public void Money_pays_the_newest_payment_first_where_the_act_says_so(string state, string open)
    {
        var script = Script.Given($"2026-09-05 sign state={state} {Twenty}");
        script.When("2026-10-06 pay amount=50.00 method=cash").ThenAccepted();
        Assert.Equal(open, NodaTime.Text.LocalDatePattern.Iso.Format(Assert.Single(script.On("2026-10-06").OpenItems).DueOn));
    }

    [Fact]
    public void Money_that_was_applied_stays_and_a_move_changes_the_order_from_then_on()
    {
        var script = Script.Given($"""
            2026-09-05 sign state=OR {Twenty}
            2026-10-06 pay amount=20.00 method=cash
            2026-10-07 move state=CT jurisdiction=untaxed
            2026-10-08 pay amount=50.00 method=cash
            2026-10-09 pay amount=10.00 method=cash
            """);
        // 20.00 paid the oldest; then the newest is paid whole, and the rest goes to the oldest again.
        Assert.Equal([M("30.00"), M("50.00")], script.On("2026-10-07").OpenItems.OrderBy(item => item.DueOn).Select(item => item.Open));
        Assert.Equal((M("30.00"), 9), Only("2026-10-08"));
        Assert.Equal((M("20.00"), 9), Only("2026-10-09"));

        (Money Open, int Month) Only(string day)
        {
            var item = Assert.Single(script.On(day).OpenItems);
            return (item.Open, item.DueOn.Month);
        }
    }

    [Theory]
    [InlineData("true", "550.00")]
    [InlineData("false", "750.00")]
    public void A_rule_that_is_not_about_what_a_family_owes_limits_nothing(string binding, string charge)
    {
        var pack = TestPack.With($$""" "kind": "loss-cap", "lesserOf": ["cash-price-less-rent-paid"], "binding": {{binding}} """);
        var script = Script.GivenLaw(pack, $"2026-09-05 sign {Twenty}\n2026-09-05 pay amount=250.00 method=cash\n2027-01-20 report-loss kind=lost");
        Assert.Equal(M(charge), script.On("2027-01-20").OpenItems.Single().Open);
    }

    [Fact]
    public void A_limit_on_a_loss_is_rounded_down()
    {
        // 799.97 x 15/20 = 599.9775 (9 V.S.A. § 41b(g)(7)).
        var terms = Twenty.Replace("cash=800.00", "cash=799.97", StringComparison.Ordinal);
        var script = Script.Given($"2026-09-05 sign state=VT {terms}\n2026-09-05 pay amount=250.00 method=cash\n2027-01-20 report-loss kind=lost");
        Assert.Equal(M("599.97"), script.On("2027-01-20").OpenItems.Single().Open);
    }

    [Theory]
    [InlineData("0.75", "1/2", true)]
    [InlineData("0.50", "1/2", true)]
    [InlineData("0.49999999", "1/2", false)]
    [InlineData("0.66666666", "2/3", false)]
    [InlineData("0.66666667", "2/3", true)]
    [InlineData("0.99", "1", false)]
    [InlineData("1.00", "1", true)]
    public void At_least_the_share_of_the_act_has_to_count_toward_ownership(string share, string least, bool allowed)
    {
        var pack = TestPack.With($$""" "kind": "minimum-credit-share", "share": "{{least}}" """, """ "kind": "new-agreement-test", "changePercent": "25" """);
        var script = Script.GivenLaw(pack).When($"2026-09-05 sign share={share}");
        if (allowed) { script.ThenAccepted(); }
        else
        {
            script.ThenRefused(RefusalCode.UnlawfulTerms, least switch { "1/2" => "0.50", "2/3" => "0.66666667", _ => "1.00" });
            Assert.Equal(("terms.creditShare", "Test Act § 1"), (script.LastRefusal!.Field, script.LastRefusal.Citation));
        }

        // An exchange is held against it as well.
        var exchanged = Script.GivenLaw(pack, "2026-09-05 sign").When($"2026-10-05 exchange share={share}");
        Assert.Equal(allowed, exchanged.LastRefusal is null);
    }

    /// <summary>"Half of all payments" (HI, IA, OH) is an ownership trigger; at signing it is the same limit as their cap on the total.</summary>
    [Theory]
    [InlineData("HI")]
    [InlineData("IA")]
    [InlineData("OH")]
    public void Where_half_of_what_is_paid_counts_by_the_act_the_cap_on_the_total_keeps_terms_to_it(string state)
    {
        var trigger = Assert.Single(LawBook.SuppliedFor(state)!.Rules.OfType<LawRule.OwnershipTrigger>());
        Assert.Equal(Fraction.Of(1, 2), trigger.Share);
        // 400.00 x half of the total: 800.00 is signed, 800.02 (creditShare 0.5) is not.
        Script.Given("").When($"2026-09-05 sign state={state} cash=400.00 price=400.00 share=0.50 rent=20.00 late=0.00/9").ThenAccepted();
        Script.Given("").When($"2026-09-05 sign state={state} cash=400.00 price=400.01 share=0.50 rent=20.00 late=0.00/9").ThenRefused(RefusalCode.UnlawfulTerms, "800.00");
    }
}
