using System.Text;
using System.Text.Json.Nodes;
using Contracts.Law;
using Xunit;

namespace Contracts.Tests.Law;

/// <summary>The packs that come with the program, and what their reader refuses.</summary>
public sealed class LawPackTests
{
    public static TheoryData<string> Jurisdictions => [.. LawBook.Jurisdictions];

    [Theory]
    [InlineData("""{"pack":1,"\ud800":"x"}""")]
    [InlineData("""{"pack":1,"jurisdiction":"\ud800"}""")]
    public void A_pack_that_is_no_unicode_is_a_fault_of_the_pack_and_not_of_the_program(string file)
    {
        var (pack, faults) = LawPackReader.Read(System.Text.Encoding.UTF8.GetBytes(file), "pack");
        Assert.Null(pack);
        Assert.NotEmpty(faults);
    }

    [Fact]
    public void There_is_a_pack_for_every_state() =>
        Assert.Equal(["US-FTC433", "US-REGM", "US-REGZ"], LawBook.Jurisdictions.Where(code => !States.Knows(code) && code != "PR"));

    [Theory]
    [MemberData(nameof(Jurisdictions))]
    public void Every_supplied_pack_is_read_without_a_fault(string code)
    {
        var pack = LawBook.SuppliedFor(code);
        Assert.NotNull(pack);
        Assert.Equal(code, pack.Jurisdiction);
        Assert.All(pack.Rules, rule => Assert.False(string.IsNullOrWhiteSpace(rule.Citation)));
    }

    [Fact]
    public void The_acts_that_were_read_in_whole_say_so() =>
        Assert.Equal(
            ["AK", "CO", "DC", "HI", "IA", "ID", "MD", "ND", "RI", "VA", "VT", "WY"],
            LawBook.Jurisdictions.Where(code => LawBook.SuppliedFor(code)!.Verified == TextRead.Whole));

    [Fact]
    public void The_two_ceilings_are_cited_as_figures_name_them()
    {
        Assert.Contains(LawBook.SuppliedFor("NY")!.Rules, rule => rule is LawRule.PurchasePrice { Citation: "N.Y. Pers. Prop. Law § 504", FloorOfOnePayment: true });
        Assert.Contains(LawBook.SuppliedFor("HI")!.Rules, rule => rule is LawRule.PurchasePrice { Citation: "Haw. Rev. Stat. § 481M-6", FloorOfOnePayment: false });
    }

    [Theory]
    [InlineData("""rules[0].kind="price-cup" """, "rules[0] price-cup", "kind")]
    [InlineData("""rules[0].citation=null""", "rules[0] price-cap", "citation")]
    [InlineData("""rules[0].citation=" " """, "rules[0] price-cap", "citation")]
    [InlineData("""rules[0].factor=null""", "rules[0] price-cap", "factor")]
    [InlineData("""rules[0].factor="minus one" """, "rules[0] price-cap", "factor")]
    [InlineData("""rules[0].facter="2" """, "rules[0] price-cap", "facter")]
    [InlineData("""rules[0].source="nowhere" """, "rules[0] price-cap", "source")]
    [InlineData("""rules[0].verified="surely" """, "rules[0] price-cap", "verified")]
    [InlineData("""rules[0].from="2020-13-01" """, "rules[0] price-cap", "from")]
    [InlineData("""rules[1].amount.usd="-5.00" """, "rules[1] fee-cap amount", "usd")]
    [InlineData("""rules[1].amount.op="about" """, "rules[1] fee-cap amount", "op")]
    [InlineData("""rules[1].grace[0].n=-1""", "rules[1] fee-cap grace[0]", "n")]
    [InlineData("""jurisdiction="XX" """, "pack", "jurisdiction")]
    [InlineData("""version=0""", "pack", "version")]
    [InlineData("""rounding="up" """, "pack", "rounding")]
    [InlineData("""pack=2""", "pack", "pack")]
    [InlineData("""rules[2].from="2021-01-01" """, "pack", "rules[2] fee-cap")]
    public void A_pack_with_a_fault_is_refused_by_file_rule_and_field(string change, string rule, string field)
    {
        var (pack, faults) = Read(Changed(change.Trim()));
        Assert.Null(pack);
        var fault = Assert.Single(faults);
        Assert.Equal(("sample.json", rule, field), (fault.File, fault.Rule, fault.Field));
    }

    [Theory]
    [InlineData(""" "kind": "disclosure", "placement": "agreemnt", "items": ["cash-price"] """, "placement")]
    [InlineData(""" "kind": "disclosure", "placement": "agreement", "items": ["cash-prize"] """, "items")]
    [InlineData(""" "kind": "receipt", "trigger": "cash", "items": ["paid"] """, "items")]
    [InlineData(""" "kind": "loss-cap", "lesserOf": ["half of it"] """, "lesserOf")]
    [InlineData(""" "kind": "allocation", "order": "as they come" """, "order")]
    [InlineData(""" "kind": "minimum-credit-share" """, "share")]
    public void A_word_that_means_nothing_keeps_a_pack_from_being_adopted_and_never_one_that_was(string rule, string field)
    {
        var file = Encoding.UTF8.GetBytes(Support.TestPack.With(rule));
        var (pack, faults) = LawPackReader.Read(file, "sample.json");
        Assert.Null(pack);
        Assert.Equal(("rules[0]", field), (faults[0].Rule[..8], faults[0].Field));
        // What was taken over before the word was looked at is still read; a missing figure was never taken over.
        Assert.Equal(field != "share", LawPackReader.ReadStored(file, "sample.json").Pack is not null);
    }

    [Fact]
    public void The_same_pack_without_a_fault_is_read() => Assert.NotNull(Read(Sample).Pack);

    [Fact]
    public void What_is_from_memory_is_kept_and_never_applied()
    {
        var day = new NodaTime.LocalDate(2020, 6, 1);
        var pack = Read(Changed("rules[1].verified=\"from-memory\"")).Pack!;
        Assert.Equal(3, pack.Rules.Length);
        Assert.Null(LateFees.Cap(pack, day, new Money(3800)));
        Assert.Equal(new Money(500), LateFees.Cap(Read(Sample).Pack!, day, new Money(3800))?.Most);
    }

    [Theory]
    [InlineData("")]
    [InlineData("[]")]
    [InlineData("{\"pack\": 1")]
    [InlineData("{\"pack\": 1, \"pack\": 1}")]
    public void What_is_no_pack_at_all_is_refused(string text)
    {
        var (pack, faults) = Read(text);
        Assert.Null(pack);
        Assert.NotEmpty(faults);
    }

    private static (LawPack? Pack, IReadOnlyList<PackFault> Faults) Read(string text) => LawPackReader.Read(Encoding.UTF8.GetBytes(text), "sample.json");

    // Invented: no act says this.
    private const string Sample = """
        { "pack": 1, "jurisdiction": "OR", "name": "Sample", "act": "Sample act", "version": 1, "from": "2020-01-01", "verified": "whole",
          "treatment": "rental-purchase-act", "rounding": "down", "openPoints": [],
          "sources": { "S": { "text": "invented", "how": "invented", "asOf": "2020", "wholeAct": true } },
          "rules": [
            { "kind": "price-cap", "citation": "S 1", "verified": "read", "source": "S", "subject": "total-of-payments", "rental": "any", "base": "cash-price", "factor": "2" },
            { "kind": "fee-cap", "citation": "S 2", "verified": "read", "source": "S", "fee": "late", "frequency": "monthly", "to": "2020-12-31",
              "amount": { "op": "flat", "usd": "5.00" }, "grace": [ { "frequency": "all", "n": 5, "unit": "days", "start": "due-date", "bound": "more-than" } ] },
            { "kind": "fee-cap", "citation": "S 3", "verified": "read", "source": "S", "fee": "late", "frequency": "monthly", "from": "2021-01-01",
              "amount": { "op": "flat", "usd": "6.00" }, "grace": [] } ] }
        """;

    private static string Changed(string change)
    {
        var root = JsonNode.Parse(Sample)!;
        var (path, value) = (change[..change.IndexOf('=', StringComparison.Ordinal)], change[(change.IndexOf('=', StringComparison.Ordinal) + 1)..]);
        // The last of the cases makes two late fees of one day: the first has to go on as well.
        if (path == "rules[2].from") { root["rules"]![1]!.AsObject().Remove("to"); }
        JsonNode at = root;
        var steps = path.Replace("[", ".", StringComparison.Ordinal).Replace("]", "", StringComparison.Ordinal).Split('.');
        foreach (var step in steps[..^1]) { at = int.TryParse(step, out var index) ? at[index]! : at[step]!; }
        if (value == "null") { at.AsObject().Remove(steps[^1]); }
        else { at[steps[^1]] = JsonNode.Parse(value); }
        return root.ToJsonString();
    }
}
