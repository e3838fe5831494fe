using System.Text;
using System.Text.Json.Nodes;
using Contracts.Agreements;
using Contracts.Compliance;
using Contracts.Disclosures;
using Contracts.History;
using Contracts.Instruments;
using Contracts.Law;
using Contracts.Tests.Support;
using NodaTime;
using Xunit;

namespace Contracts.Tests.Law;

/// <summary>What an act wants told at signing, at an exchange and on a receipt; what cannot be told is refused with the section.</summary>
public sealed class AskedByTheActTests
{
    private const string Location = """ "kind": "disclosure", "placement": "agreement", "items": ["location"] """;
    private const string Required = """ "kind": "disclosure", "placement": "agreement", "items": ["location"], "requiredAtSigning": true """;
    private const string AnyChange = """ "kind": "new-agreement-test", "changePercent": "0" """;

    [Theory]
    [InlineData("VA", "Va. Code § 59.1-207.21")]
    [InlineData("HI", "Haw. Rev. Stat. § 481M-14(a)")]
    public void A_signing_that_does_not_say_whether_the_unit_is_new_is_refused_where_the_act_wants_it_told(string state, string section)
    {
        var script = Script.Given("").When($"2026-09-05 sign state={state} condition=none").ThenRefused(RefusalCode.DisclosureMissing, "new or used");
        Assert.Equal(("instrument.condition", section), (script.LastRefusal!.Field, script.LastRefusal.Citation));
        Assert.Contains("NEW_USED", script.LastRefusal.Detail, StringComparison.Ordinal);
        // Another word is not an answer; and where no list of items was read, nothing is asked.
        script.When($"2026-09-05 sign state={state} condition=shiny").ThenRefused(RefusalCode.DisclosureMissing);
        script.When("2026-09-05 sign state=NY condition=none").ThenAccepted();
    }

    [Fact]
    public void Where_the_instrument_is_kept_may_come_with_the_signing_and_is_then_told()
    {
        // N.D. Cent. Code § 47-15.1-03.
        var script = Script.Given("2026-09-05 sign state=ND late=3.00/10 location=4_Quarry_Lane,_Wexmoor\n2026-09-05 issue kind=agreement key=A");
        var line = Paper(script, "A")["agreement"]!["disclosures"]!.AsArray().Single(line => (string)line!["item"]! == "LOCATION")!;
        Assert.Contains("kept at 4 Quarry Lane, Wexmoor", (string)line["text"]!, StringComparison.Ordinal);
    }

    [Fact]
    public void A_pack_can_ask_for_it_at_the_signing()
    {
        Script.GivenLaw(TestPack.With(Location)).When("2026-09-05 sign").ThenAccepted();
        var script = Script.GivenLaw(TestPack.With(Required)).When("2026-09-05 sign").ThenRefused(RefusalCode.DisclosureMissing);
        Assert.Equal(("instrument.location", "Test Act § 1"), (script.LastRefusal!.Field, script.LastRefusal.Citation));
        script.When("2026-09-05 sign location=here").ThenAccepted();
    }

    [Fact]
    public void What_nothing_that_is_recorded_can_say_keeps_an_agreement_from_being_signed() => Script
        .GivenLaw(TestPack.With(""" "kind": "disclosure", "placement": "agreement-cost-box", "items": ["cash-price", "apr-imputed"] """))
        .When("2026-09-05 sign").ThenRefused(RefusalCode.DisclosureMissing);

    [Fact]
    public void The_signing_and_the_sheet_agree_on_what_can_be_told()
    {
        foreach (var unit in new[] { "condition=none", "condition=used", "condition=odd", "location=here" })
        {
            var shop = Script.Given($"2026-09-05 sign state=NY {unit}").Shop;
            var (history, rates) = (shop.History("C-1"), shop.RatesAt(Instant.MaxValue));
            var data = SigningData.Of(AccountFold.At(history, rates, new LocalDate(2026, 9, 5))!, Instant.FromUtc(2026, 9, 5, 16, 0), rates);
            Assert.All(Enum.GetValues<DisclosureItem>(), item => Assert.Equal(
                (item, DisclosureCheck.IsAnswered(item, history.Signing.Instrument)), (item, DisclosureSheet.Line(item, data) is not null)));
        }
    }

    [Fact]
    public void An_exchange_that_is_a_new_agreement_has_to_say_what_a_signing_has_to()
    {
        var life = "2026-09-05 sign state=VA\n2026-09-05 pay amount=45.00 method=cash";
        Script.Given(life).When("2026-10-05 exchange price=1400.00 rent=60.00 condition=none").ThenRefused(RefusalCode.DisclosureMissing);
        Script.Given(life).When("2026-10-05 exchange price=1400.00 rent=40.00 condition=none").ThenAccepted();
    }

    [Fact]
    public void The_confirmation_of_an_exchange_that_is_a_new_agreement_carries_the_whole_sheet_on_the_new_terms()
    {
        // 83.00 of rent paid, all of it carried: 1400.00 - 83.00 = 1317.00 in 21 payments of 60.00 and one of 57.00.
        var script = Script.Given("""
            2026-09-05 sign state=VA
            2026-09-05 pay amount=83.00 method=cash
            2026-11-20 exchange price=1400.00 cash=1300.00 rent=60.00 condition=used
            2026-11-20 issue kind=exchange for=L3 key=X
            """);
        var exchange = Paper(script, "X")["exchange"]!;
        Assert.Equal("Va. Code § 59.1-207.25", (string)exchange["newAgreement"]!);
        var sheet = exchange["disclosures"]!.AsArray().ToDictionary(line => (string)line!["item"]!, line => (string)line!["text"]!);
        foreach (var asked in AskedItems.OfAgreement(LawBook.SuppliedFor("VA"), new LocalDate(2026, 11, 20), false)) { Assert.Contains(asked.Item.Code(), sheet.Keys); }
        Assert.Equal("22 payments to ownership, if each is made when due.", sheet["PAYMENT_COUNT"]);
        Assert.Equal("$1,317.00 in rent from this exchange to ownership.", sheet["TOTAL_OF_PAYMENTS"]);
        Assert.StartsWith("$100.00: ", sheet["COST_OF_RENTAL"], StringComparison.Ordinal);
        Assert.Equal("The instrument is used.", sheet["NEW_USED"]);
        Assert.Contains("21 monthly payments of $60.00 from December 5, 2026", sheet["PAYMENT_AMOUNT_TIMING"], StringComparison.Ordinal);
        Assert.StartsWith("$83.00 of equity is carried over", sheet["PRIOR_AGREEMENT_CREDIT"], StringComparison.Ordinal);
        Assert.Contains("made anew by the exchange of November 20, 2026", sheet["PARTIES_DATE"], StringComparison.Ordinal);
        Assert.Equal("$0.00 is due on the day of the exchange, with tax and accessories. The first payment, $60.00, is due on December 5, 2026.", sheet["INITIAL_PAYMENT"]);
    }

    [Fact]
    public void Without_a_new_agreement_no_new_sheet_comes_with_it_and_one_that_cannot_be_whole_is_not_issued()
    {
        var plain = Script.Given("2026-09-05 sign state=VA\n2026-10-05 exchange rent=40.00\n2026-10-05 issue kind=exchange for=L2 key=X");
        Assert.Null(Paper(plain, "X")["exchange"]!["disclosures"]);
        var script = Script.GivenLaw(TestPack.With(Location, AnyChange), "2026-09-05 sign\n2026-10-05 exchange rent=40.00");
        script.When("2026-10-05 issue kind=exchange for=L2 key=X").ThenRefused(RefusalCode.PaperNotMade);
        Assert.Equal("Test Act § 1", script.LastRefusal!.Citation);
    }

    [Theory]
    [InlineData("NY", "REMAINING_TOTAL N.Y. Pers. Prop. Law § 504(2)|EPO_PRICE_NOW N.Y. Pers. Prop. Law § 504(2)")]
    [InlineData("HI", "PAID_NOW Haw. Rev. Stat. § 481M-16|REMAINING_TOTAL |EPO_PRICE_NOW ")]
    [InlineData("MD", "PAID_NOW Md. Code, Com. Law § 12-1107|DUE_THIS_PERIOD Md. Code, Com. Law § 12-1107|REMAINING_TOTAL Md. Code, Com. Law § 12-1107|EPO_PRICE_NOW ")]
    [InlineData("OR", "REMAINING_TOTAL |EPO_PRICE_NOW ")]
    public void A_receipt_states_what_the_act_asks_with_its_section_and_both_totals_everywhere(string state, string states)
    {
        var script = Script.Given($"2026-09-05 sign state={state}\n2026-09-05 pay amount=50.00 method=cash\n2026-09-05 issue kind=receipt for=L2 key=R");
        var figures = Paper(script, "R")["receipt"]!["states"]!.AsArray();
        Assert.Equal(states, string.Join('|', figures.Select(figure => $"{figure!["item"]} {figure["citation"]}")));
        var amounts = figures.ToDictionary(figure => (string)figure!["item"]!, figure => (string)figure!["amount"]!);
        Assert.Equal("1150.00", amounts["REMAINING_TOTAL"]);
        Assert.Equal("690.00", amounts["EPO_PRICE_NOW"]);
        if (state == "MD") { Assert.Equal(("50.00", "45.00"), (amounts["PAID_NOW"], amounts["DUE_THIS_PERIOD"])); }
    }

    [Fact]
    public void A_receipt_that_cannot_state_what_the_act_asks_is_not_issued()
    {
        const string history = """ "kind": "receipt", "trigger": "every payment", "items": ["paid-now", "item-history"] """;
        var script = Script.GivenLaw(TestPack.With(history), "2026-09-05 sign\n2026-09-05 pay amount=50.00 method=cash");
        script.When("2026-09-05 issue kind=receipt for=L2 key=R").ThenRefused(RefusalCode.PaperNotMade);
        Assert.Equal("Test Act § 1", script.LastRefusal!.Citation);
    }

    [Fact]
    public void What_the_act_leaves_out_asks_nothing() =>
        // 9 V.S.A. § 41b leaves out instruments for school use.
        Assert.Null(DisclosureCheck.First(LawBook.SuppliedFor("VT"), new LocalDate(2026, 9, 5), new Instrument("clarinet", "S", null, null, SchoolUse: true)));

    private static JsonNode Paper(Script script, string id) => JsonNode.Parse(Encoding.UTF8.GetString(script.Shop.MakeAgain("C-1", id).Data!))!;
}
