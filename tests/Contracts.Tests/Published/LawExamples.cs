using System.Text.Json.Nodes;
using Contracts.Compliance;
using Contracts.Law;
using Contracts.Terms;
using Contracts.Tests.House;
using NodaTime;
using Xunit;

namespace Contracts.Tests.Published;

/// <summary>Law packs against cases worked out by hand; each names its section (fixtures/published/law-examples.json).</summary>
public sealed class LawExamples
{
    private static readonly LocalDate Signed = new(2026, 1, 5);

    private static readonly JsonObject Examples =
        (JsonObject)JsonNode.Parse(File.ReadAllText(Path.Combine(Repository.Root, "fixtures", "published", "law-examples.json")))!;

    public static TheoryData<string> Ceilings => Ids("ceilings");

    public static TheoryData<string> Caps => Ids("caps");

    public static TheoryData<string> LateFeeCases => Ids("lateFees");

    public static TheoryData<string> Waivers => Ids("waivers");

    public static TheoryData<string> Windows => Ids("windows");

    public static TheoryData<string> NewAgreements => Ids("newAgreements");

    public static TheoryData<string> CreditSales => Ids("creditSales");

    [Theory]
    [MemberData(nameof(Ceilings))]
    public void An_early_purchase_price_is_at_most_what_the_act_says(string id)
    {
        var (example, pack) = Find("ceilings", id);
        var (made, all) = ((int)example["made"]!, (int)example["all"]!);
        var paid = Amount(example, "payment").Times(made);
        var standing = new PriceStanding(
            Signed, Signed.PlusMonths((int?)example["monthsAfterSigning"] ?? made), Amount(example, "cash"),
            example["retail"] is null ? null : Amount(example, "retail"), Amount(example, "total"), Amount(example, "total") - paid, paid,
            all - made, all, Amount(example, "payment"));
        var ceiling = PriceCeilings.Of(pack, standing);
        Assert.NotNull(ceiling);
        Assert.Equal(
            (Text(example, "section"), Text(example, "exact"), Text(example, "price")),
            (ceiling.Value.Citation, ceiling.Value.Exact.ToString(), ceiling.Value.Price.ToString()));
    }

    [Theory]
    [MemberData(nameof(Caps))]
    public void A_price_is_capped_as_the_act_says(string id)
    {
        var (example, pack) = Find("caps", id);
        var facts = Facts(example, Amount(example, "cash"), Amount(example, "cash"));
        var rule = Assert.Single(pack.Of<LawRule.PriceCap>(Signed), rule => rule.Citation == Text(example, "section") && PriceLimits.IsAbout(rule, facts));
        Assert.Equal(Text(example, "limit"), PriceLimits.Of(pack, rule, facts).Limit?.ToString());
    }

    [Theory]
    [MemberData(nameof(LateFeeCases))]
    public void A_late_fee_is_at_most_what_the_act_says_and_comes_no_sooner(string id)
    {
        var (example, pack) = Find("lateFees", id);
        var payment = Amount(example, "payment");
        var cap = LateFees.Cap(pack, Signed, payment);
        Assert.NotNull(cap);
        Assert.Equal(Text(example, "most"), cap.Value.Most.ToString());
        if (example["section"] is { } section) { Assert.Equal((string)section!, cap.Value.Citation); }
        if (Text(example, "exact") != "0")
        {
            Assert.Contains(LateFees.Of(pack, Signed), rule => rule.Amount?.For(payment)?.ToString() == Text(example, "exact"));
        }

        if ((int?)example["firstDay"] is not { } day) { return; }
        // The engine charges on the day after the grace days.
        var fewest = LateFees.Of(pack, Signed).SelectMany(rule => rule.Graces).Where(grace => LateFees.IsMonthly(grace.Frequency)).Max(LateFees.GraceDays);
        Assert.Equal(day, fewest + 1);
    }

    [Theory]
    [MemberData(nameof(Waivers))]
    public void A_protection_plan_costs_at_most_what_the_act_says(string id)
    {
        var (example, pack) = Find("waivers", id);
        var price = Assert.Single(pack.Of<LawRule.Waiver>(Signed)).Price.Single(price => LateFees.IsMonthly(price.Frequency)).Amount.For(Amount(example, "payment"));
        Assert.Equal((Text(example, "exact"), Text(example, "most")), (price?.ToString(), price?.RoundedDown().ToString()));
    }

    [Theory]
    [MemberData(nameof(Windows))]
    public void A_contract_may_be_had_back_until_the_day_the_act_says(string id)
    {
        var (example, pack) = Find("windows", id);
        var returned = Date(example, "returned");
        var last = ReinstatementWindows.LastDay(
            pack, Signed, returned, example["paidThrough"] is null ? returned : Date(example, "paidThrough"),
            Fraction.Of((int)example["made"]!, (int)example["all"]!), Fraction.Of(Amount(example, "paid").Cents, Amount(example, "total").Cents));
        Assert.Equal((string?)example["last"], last is { } day ? NodaTime.Text.LocalDatePattern.Iso.Format(day.Last) : null);
    }

    [Theory]
    [MemberData(nameof(NewAgreements))]
    public void Other_terms_make_a_new_agreement_when_the_act_says_so(string id)
    {
        var (example, pack) = Find("newAgreements", id);
        var share = Assert.Single(pack.Of<LawRule.NewAgreement>(Signed)).ChangeShare!.Value;
        var (before, after) = (Amount(example, "before"), Amount(example, "after"));
        var change = Fraction.Of(Money.Max(before, after) - Money.Min(before, after));
        Assert.Equal((bool)example["isNew"]!, change > share * Fraction.Of(before));
    }

    [Theory]
    [MemberData(nameof(CreditSales))]
    public void Above_the_line_the_agreement_is_a_sale_on_credit(string id)
    {
        var (example, pack) = Find("creditSales", id);
        var facts = Facts(example, Amount(example, "retail"), Amount(example, "total"));
        var found = TermsCheck.Of(pack, facts, null).Violations.Where(violation => violation.Rule == "credit-sale-test");
        Assert.Equal((bool)example["isSale"]!, found.Any());
    }

    [Fact]
    public void An_instrument_for_school_use_is_outside_the_act_that_says_so()
    {
        // 9 V.S.A. § 41b(a)(5)(E): an instrument meant mainly for elementary or secondary school use.
        var pack = LawBook.SuppliedFor("VT")!;
        var facts = Facts([], new Money(100_000), new Money(900_000)) with { Cost = new Money(100) };
        Assert.NotEmpty(TermsCheck.Of(pack, facts, null).Violations);
        Assert.Empty(TermsCheck.Of(pack, facts with { SchoolUse = true }, null).Violations);
    }

    [Theory]
    [InlineData("NJ")]
    [InlineData("WI")]
    public void Where_such_deals_are_sales_on_credit_counsel_comes_first(string state)
    {
        var facts = Facts([], new Money(90_000), new Money(90_000));
        Assert.Equal("treatment", Assert.Single(TermsCheck.Of(LawBook.SuppliedFor(state), facts, null).Violations, violation => violation.Rule == "treatment").Rule);
        Assert.DoesNotContain(TermsCheck.Of(LawBook.SuppliedFor(state), facts, "read by counsel").Violations, violation => violation.Rule == "treatment");
    }

    private static AgreementFacts Facts(JsonObject example, Money cash, Money total) => new(
        Signed,
        new ContractTerms(
            cash, total, new IntroductoryPeriod(0, Money.Zero), new Money(3900), Rate.Whole, [], null, new LateFeeTerms(Money.Zero, 0), Money.Zero),
        example["cost"] is null ? null : Amount(example, "cost"), (bool?)example["used"] ?? false,
        example["earlierRents"] is null ? null : Amount(example, "earlierRents"), example["retail"] is null ? null : Amount(example, "retail"), false);

    private static TheoryData<string> Ids(string list) => [.. ((JsonArray)Examples[list]!).Select(example => (string)example!["id"]!)];

    private static (JsonObject Example, LawPack Pack) Find(string list, string id)
    {
        var example = (JsonObject)((JsonArray)Examples[list]!).Single(example => (string)example!["id"]! == id)!;
        return (example, LawBook.SuppliedFor(Text(example, "state"))!);
    }

    private static string Text(JsonObject example, string name) => (string)example[name]!;

    private static Money Amount(JsonObject example, string name) => Money.Parse(Text(example, name));

    private static LocalDate Date(JsonObject example, string name) => NodaTime.Text.LocalDatePattern.Iso.Parse(Text(example, name)).Value;
}
