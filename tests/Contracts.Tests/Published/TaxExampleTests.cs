using System.Text.Json.Nodes;
using Contracts.Terms;
using Contracts.Tests.House;
using Contracts.Tests.Support;
using NodaTime;
using NodaTime.Text;
using Xunit;

namespace Contracts.Tests.Published;

/// <summary>The tax checks of fixtures/published/tax-examples.json: each names its source and how it was verified.</summary>
public sealed class TaxExampleTests
{
    private static readonly LocalDate Start = new(2026, 1, 5);

    private static readonly JsonObject All = (JsonObject)JsonNode.Parse(
        File.ReadAllText(Path.Combine(Repository.Root, "fixtures", "published", "tax-examples.json")))!;

    private readonly InMemoryShop shop = new();
    private int keys;

    public static TheoryData<string> Rounding => Ids("rounding");

    public static TheoryData<string> Split => Ids("split");

    public static TheoryData<string> Regimes => Ids("regimes");

    public static TheoryData<string> Changes => Ids("changes");

    public static TheoryData<string> Losses => Ids("losses");

    [Theory]
    [MemberData(nameof(Rounding))]
    public void A_tax_is_rounded_once_half_a_cent_up(string id)
    {
        var example = Find("rounding", id);
        var entry = new TaxEntry(Start, Rate.Parse(Text(example, "rate")), new TaxedParts(true, true, true, true));
        var amount = Money.Parse(Text(example, "amount"));
        Assert.Equal([Text(example, "tax")], new[] { entry.OnRent(amount), entry.OnPlan(amount), entry.OnFee(amount), entry.OnSale(amount) }
            .Select(tax => tax.ToString()).Distinct());
    }

    [Theory]
    [MemberData(nameof(Split))]
    public void A_tax_on_the_combined_rate_is_split_back_by_the_largest_remainder(string id)
    {
        var example = Find("split", id);
        TaxPart[] parts = [.. ((JsonArray)example["parts"]!).Select(part => new TaxPart(Text((JsonObject)part!, "authority"), Rate.Parse(Text((JsonObject)part!, "rate"))))];
        var entry = new TaxEntry(
            Start, new Rate(parts.Sum(part => part.Rate.Units)), new TaxedParts(true, false, false, false), TaxRegime.EachPayment, [.. parts]);
        var amount = Money.Parse(Text(example, "amount"));
        var tax = entry.OnRent(amount);
        Assert.Equal(Text(example, "tax"), tax.ToString());
        Assert.Equal(((JsonArray)example["shares"]!).Select(share => (string)share!), entry.Split("an area", tax).Select(part => part.Amount.ToString()));
        Assert.Equal(Text(example, "roundedEach"), parts.Aggregate(Money.Zero, (sum, part) => sum + part.Rate.Of(amount)).ToString());
    }

    [Theory]
    [MemberData(nameof(Regimes))]
    public void A_regime_taxes_what_its_source_says_and_when(string id)
    {
        var example = Find("regimes", id);
        var (rents, rent) = ((int)example["rents"]!, Money.Parse(Text(example, "monthlyRent")));
        Tax(Start, "2000-01-01", Text(example, "rate"), Text(example, "regime"), [.. ((JsonArray)example["taxes"]!).Select(part => (string)part!)]);
        Sign(Start, Text(example, "purchasePrice"), rent);
        Assert.Equal(Text(example, "taxOnFirstDay"), Owed(Start, "tax"));
        for (var month = 0; month < rents; month++)
        {
            var day = Start.PlusMonths(month);
            Say(day, "pay", ("amount", shop.Account("C-1", day)!.PastDue.ToString()), ("method", "cash"));
        }

        var last = Start.PlusMonths(rents - 1);
        Assert.Equal((rent.Times(rents), Text(example, "saleTax")), (shop.Account("C-1", last)!.Paid.Rent, shop.Account("C-1", last)!.EarlyPurchase.Tax.ToString()));
        Say(last.PlusDays(1), "return");
        var returned = shop.Account("C-1", last.PlusDays(1))!;
        Assert.Equal(
            (Text(example, "paidTaxAfterReturn"), Text(example, "creditAfterReturn")), (returned.Paid.Tax.ToString(), returned.UnappliedCredit.ToString()));
    }

    [Theory]
    [MemberData(nameof(Changes))]
    public void A_change_of_regime_reaches_a_running_contract_on_its_day(string id)
    {
        var example = Find("changes", id);
        var (before, after) = ((JsonObject)example["before"]!, (JsonObject)example["after"]!);
        var (first, next) = (Date(before, "dueOn"), Date(after, "dueOn"));
        Tax(first.PlusDays(-1), "2000-01-01", Text(example, "rate"), Text(before, "regime"), "rent");
        Tax(first.PlusDays(-1), Text(example, "from"), Text(example, "rate"), Text(after, "regime"), "rent");
        Sign(first, "988.50", Money.Parse(Text(example, "monthlyRent")));
        Assert.Equal((Text(before, "tax"), Text(after, "tax")), (Owed(first, "tax"), Owed(next, "tax")));
    }

    [Theory]
    [MemberData(nameof(Losses))]
    public void Rent_until_a_loss_is_taxed_and_the_loss_charge_is_not(string id)
    {
        var example = Find("losses", id);
        Tax(Start, "2000-01-01", Text(example, "rate"), "each-payment", "rent", "sale", "fees");
        Sign(Start, Text(example, "purchasePrice"), Money.Parse(Text(example, "monthlyRent")));
        Say(Start.PlusDays(10), "report-loss", ("kind", "lost"));
        var items = shop.Account("C-1", Start.PlusDays(10))!.OpenItems;
        Assert.Equal(Text(example, "tax"), Assert.Single(items, item => item.Part == "tax" && item.Kind == "installment").Charged.ToString());
        Assert.Equal(
            Text(example, "lossTax"), items.Where(item => item.Kind == "loss" && item.Part == "tax").Aggregate(Money.Zero, (sum, item) => sum + item.Open).ToString());
        Assert.Contains(items, item => item is { Kind: "loss", Part: "fee" });
    }

    [Fact]
    public void Every_example_names_its_source_and_how_it_was_verified() =>
        Assert.All(new[] { "rounding", "split", "regimes", "changes", "losses" }.SelectMany(Of), example =>
        {
            Assert.NotEmpty(Text(example, "source"));
            Assert.Contains(Text(example, "origin"), new[] { "published figures", "figures made here, rule read" });
            Assert.Contains(Text(example, "verified"), new[] { "read", "from memory" });
        });

    private void Tax(LocalDate on, string from, string rate, string regime, params ReadOnlySpan<string> taxed)
    {
        var taxes = new JsonObject();
        foreach (var part in taxed) { taxes[part] = true; }
        Say(on, new JsonObject
        {
            ["do"] = "set-tax", ["jurisdiction"] = "invented", ["rate"] = rate, ["from"] = from, ["regime"] = regime, ["taxes"] = taxes,
        });
    }

    private void Sign(LocalDate on, string price, Money rent) => Say(on, new JsonObject
    {
        ["do"] = "sign", ["contract"] = "C-1", ["on"] = LocalDatePattern.Iso.Format(on), ["household"] = "an invented family", ["state"] = "OR",
        ["jurisdiction"] = "invented", ["startOn"] = LocalDatePattern.Iso.Format(on),
        ["instrument"] = new JsonObject { ["kind"] = "trumpet", ["serial"] = "LT-1", ["condition"] = "new" },
        ["terms"] = new JsonObject
        {
            ["cashPrice"] = price, ["purchasePrice"] = price, ["monthlyRent"] = rent.ToString(), ["creditShare"] = "1.00",
        },
    });

    private void Say(LocalDate on, string name, params ReadOnlySpan<(string Name, string Value)> fields)
    {
        var command = new JsonObject { ["do"] = name, ["contract"] = "C-1", ["on"] = LocalDatePattern.Iso.Format(on) };
        foreach (var (field, value) in fields) { command[field] = value; }
        Say(on, command);
    }

    private void Say(LocalDate on, JsonObject command)
    {
        command["key"] = $"k{++keys}";
        command["at"] = InstantPattern.ExtendedIso.Format((on + new LocalTime(12, 0)).InZoneStrictly(InMemoryShop.Zone).ToInstant());
        var refusal = shop.Apply(command.ToJsonString());
        Assert.True(refusal is null, refusal?.Detail);
    }

    private string Owed(LocalDate day, string part) => shop.Account("C-1", day)!.OpenItems
        .Where(item => item.Part == part && item.DueOn == day).Aggregate(Money.Zero, (sum, item) => sum + item.Open).ToString();

    private static TheoryData<string> Ids(string group) => [.. Of(group).Select(example => Text(example, "id"))];

    private static IEnumerable<JsonObject> Of(string group) => ((JsonArray)All[group]!).Select(example => (JsonObject)example!);

    private static JsonObject Find(string group, string id) => Of(group).Single(example => Text(example, "id") == id);

    private static string Text(JsonObject example, string field) => (string)example[field]!;

    private static LocalDate Date(JsonObject example, string field) => LocalDatePattern.Iso.Parse(Text(example, field)).GetValueOrThrow();
}
