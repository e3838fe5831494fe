using Contracts.Agreements;
using Contracts.History;
using Contracts.Tests.Support;
using Xunit;

namespace Contracts.Tests.Law;

/// <summary>What a contract's law pack changes in its life, from the signing on.</summary>
public sealed class LawInForceTests
{
    private static Money M(string amount) => Money.Parse(amount);

    [Fact]
    public void A_signing_names_the_pack_it_is_under()
    {
        var script = Script.Given("2026-09-05 sign state=HI");
        Assert.Equal("HI.1", script.Shop.History("C-1").Signing.LawPack);
    }

    [Fact]
    public void A_late_fee_is_at_most_what_the_act_allows_on_that_installment()
    {
        // W. Va. Code § 46B-3-9(c): 5 percent. On 100.00 that is the 5.00 of the terms; on the last 20.00 it is 1.00.
        var script = Script.Given("2026-09-05 sign state=WV price=220.00 rent=100.00 intro=0x0.00 late=5.00/7 tiers=");
        Assert.Equal([M("5.00"), M("5.00"), M("1.00")], script.On("2026-12-31").OpenItems.Where(item => item.Kind == "late").Select(item => item.Charged));
    }

    [Theory]
    [InlineData("late=5.01/7", "5.00")]
    [InlineData("late=5.00/4", "5")]
    [InlineData("cash=500.00 price=1000.01", "1000.00")]
    public void What_the_act_forbids_is_not_signed(string terms, string right) =>
        Script.Given("").When($"2026-09-05 sign state=HI {terms}").ThenRefused(RefusalCode.UnlawfulTerms, right);

    [Theory]
    [InlineData("late=5.00/5")]
    [InlineData("cash=500.00 price=1000.00")]
    public void What_the_act_just_allows_is_signed(string terms) => Script.Given("").When($"2026-09-05 sign state=HI {terms}").ThenAccepted();

    [Fact]
    public void A_refusal_names_the_section() =>
        Assert.Equal("Haw. Rev. Stat. § 481M-7(d)(1)", Script.Given("").When("2026-09-05 sign state=HI late=5.01/7").LastRefusal!.Citation);

    [Fact]
    public void Terms_of_an_exchange_are_held_against_the_pack_as_well() =>
        Script.Given("2026-09-05 sign state=HI\n2026-09-05 pay amount=45.00 method=cash")
            .When("2026-10-05 exchange late=6.00/7").ThenRefused(RefusalCode.UnlawfulTerms, "5.00");

    [Theory]
    [InlineData("47.50", null)] // A quarter of 38.00 is 9.50: at it there is no new agreement.
    [InlineData("47.51", "Va. Code § 59.1-207.25")]
    public void An_exchange_that_changes_the_payment_by_more_than_a_quarter_is_a_new_agreement(string rent, string? section)
    {
        var script = Script.Given("2026-09-05 sign state=VA\n2026-09-05 pay amount=45.00 method=cash");
        script.When($"2026-10-05 exchange price=1400.00 rent={rent}").ThenAccepted();
        var exchange = (ContractEvent.InstrumentExchanged)script.Shop.History("C-1").Entries[^1].Event;
        Assert.Equal(section, exchange.NewAgreement);
    }

    [Theory]
    [InlineData("VA", "2026-10-26", "2026-10-27")] // Va. Code § 59.1-207.23: 21 days below two thirds.
    [InlineData("OH", "2027-02-05", "2027-02-06")] // Ohio Rev. Code § 1351.05: three terms from the end of the last paid one, 5 November.
    [InlineData("OR", "2026-11-04", "2026-11-05")] // None loaded: the shop's 30 days.
    public void A_contract_can_be_had_back_while_its_window_is_open(string state, string last, string after)
    {
        var life = $"2026-09-05 sign state={state} intro=1x45.00\n2026-09-05 pay amount=45.00 method=cash\n2026-10-05 @2026-10-05 return";
        if (state == "OH") { life = $"2026-09-05 sign state={state}\n2026-09-05 pay amount=45.00 method=cash\n2026-10-05 return"; }
        Script.Given(life).When($"{after} reinstate").ThenRefused(RefusalCode.ReinstatementWindowPassed, last);
        Script.Given(life).When($"{last} reinstate").ThenAccepted();
    }

    [Fact]
    public void Title_passes_when_half_of_the_rent_paid_reaches_the_cash_price()
    {
        // Signed where nothing caps the total; Haw. Rev. Stat. § 481M-5(b) asks 2 x 100.00 of rent.
        var script = Script.Given("""
            2026-09-05 sign cash=100.00 price=400.00 rent=40.00 intro=0x0.00 tiers= late=0.00/7
            2026-09-20 move state=HI jurisdiction=untaxed
            2026-10-06 pay amount=199.99 method=cash
            """);
        script.When("2027-01-05 bill");
        Assert.Equal("active", script.On("2027-01-05").Status);
        script.When("2027-01-06 pay amount=0.01 method=cash").ThenAccepted();
        Assert.Equal("owned", script.On("2027-01-06").Status);
        Assert.Equal("active", script.On("2027-01-05").Status);
    }

    [Fact]
    public void A_contract_from_before_packs_keeps_the_ceilings_there_were()
    {
        // 899.00 x 34/46 = 664.478..: to the nearest cent for a signing without a pack, rounded down for one with it.
        var script = Script.Given("2026-01-05 sign state=HI cash=899.00 price=1794.00 rent=39.00 intro=0x0.00 tiers= late=0.00/7\n2026-01-05 pay amount=468.00 method=cash");
        Assert.Equal(M("664.47"), script.On("2026-12-05").EarlyPurchase.Price);
        var history = script.Shop.History("C-1");
        var earlier = ContractHistory.Of("C-1", [.. history.Entries.Select(entry => entry.Event is ContractEvent.Signed signed
            ? entry with { Event = signed with { LawPack = null } }
            : entry)]);
        var state = AccountFold.At(earlier, script.Shop.RatesAt(NodaTime.Instant.MaxValue), new NodaTime.LocalDate(2026, 12, 5));
        Assert.Equal(M("664.48"), Contracts.Equity.EarlyPurchase.On(state!).Price);
    }
}
