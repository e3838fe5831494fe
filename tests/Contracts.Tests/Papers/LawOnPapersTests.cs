using System.Text;
using System.Text.Json.Nodes;
using Contracts.Agreements;
using Contracts.Disclosures;
using Contracts.Law;
using Contracts.Tests.Support;
using Xunit;

namespace Contracts.Tests.Papers;

/// <summary>What a contract's law pack asks of its papers.</summary>
public sealed class LawOnPapersTests
{
    [Fact]
    public void Every_item_that_any_pack_names_is_an_item_that_papers_know() =>
        Assert.All(
            LawBook.Jurisdictions.SelectMany(code => LawBook.SuppliedFor(code)!.Rules).SelectMany(rule => rule switch
            {
                LawRule.Disclosure disclosure => disclosure.Items,
                LawRule.Receipt receipt => receipt.Items,
                _ => [],
            }),
            word => Assert.NotNull(DisclosureItems.OfWord(word)));

    [Fact]
    public void A_paper_names_the_pack_of_its_contract_on_its_day()
    {
        var script = Script.Given("""
            2026-09-05 sign
            2026-09-20 move state=HI jurisdiction=untaxed
            2026-09-19 @2026-09-21 issue kind=statement key=before
            2026-09-20 @2026-09-21 issue kind=statement key=after
            """);
        Assert.Equal(("OR.1", "HI.1"), ((string?)Paper(script, "before")["lawPack"], (string?)Paper(script, "after")["lawPack"]));
    }

    [Fact]
    public void An_agreement_that_cannot_say_what_the_act_asks_is_not_issued()
    {
        // N.D. Cent. Code § 47-15.1-03 asks where the instrument is kept, which no event records yet.
        var script = Script.Given("2026-09-05 sign state=ND late=3.00/10");
        script.When("2026-09-05 issue kind=agreement key=A").ThenRefused(RefusalCode.PaperNotMade);
        Assert.Equal("N.D. Cent. Code § 47-15.1-03", script.LastRefusal!.Citation);
        Script.Given("2026-09-05 sign state=VA").When("2026-09-05 issue kind=agreement key=A").ThenAccepted();
    }

    [Theory]
    [InlineData("VA", "within 21 days or 45 days, as Va. Code § 59.1-207.23 counts them")]
    [InlineData("OH", "within the time that Ohio Rev. Code § 1351.05(A) gives")]
    [InlineData("OR", "within 30 days, unless the act of your state gives you longer")]
    public void The_sheet_says_how_long_a_return_can_be_undone(string state, string words)
    {
        var script = Script.Given($"2026-09-05 sign state={state}\n2026-09-05 issue kind=agreement key=A");
        var line = Paper(script, "A")["agreement"]!["disclosures"]!.AsArray().Single(line => (string)line!["item"]! == "REINSTATEMENT_NOTICE")!;
        Assert.Contains(words, (string)line["text"]!, StringComparison.Ordinal);
    }

    [Fact]
    public void A_notice_of_return_names_the_last_day_of_the_act()
    {
        var script = Script.Given("""
            2026-09-05 sign state=VA
            2026-09-05 pay amount=45.00 method=cash
            2026-10-05 return
            2026-10-05 issue kind=return for=L3 key=R
            """);
        Assert.Equal("2026-10-26", (string?)Paper(script, "R")["return"]!["reinstateThrough"]);
    }

    private static JsonNode Paper(Script script, string id) => JsonNode.Parse(Encoding.UTF8.GetString(script.Shop.MakeAgain("C-1", id).Data!))!;
}
