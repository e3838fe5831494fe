using System.Text.Json.Nodes;
using Contracts.Disclosures;
using Contracts.Tests.House;
using Contracts.Tests.Support;
using NodaTime;
using NodaTime.Text;
using Xunit;

namespace Contracts.Tests.Published;

/// <summary>The examples of fixtures/published/price-examples.json, and the plain account each is tried on.</summary>
internal sealed class PublishedExamples
{
    private const string Contract = "C-1";

    private static readonly JsonObject All = (JsonObject)JsonNode.Parse(
        File.ReadAllText(Path.Combine(Repository.Root, "fixtures", "published", "price-examples.json")))!;

    private readonly InMemoryShop shop = new();
    private int keys;

    public static TheoryData<string> Ids(string group) => [.. Of(group).Select(example => (string)example["id"]!)];

    public static IEnumerable<JsonObject> Of(string group) => ((JsonArray)All[group]!).Select(example => (JsonObject)example!);

    public static JsonObject Find(string group, string id) => Of(group).Single(example => (string)example["id"]! == id);

    public static string Text(JsonObject example, string field) => (string)example[field]!;

    public static LocalDate Date(string day) => LocalDatePattern.Iso.Parse(day).GetValueOrThrow();

    /// <summary>Signs an invented account on a day: monthly rent until the purchase price, no discount, no plan.</summary>
    public PublishedExamples Sign(LocalDate on, string rent, string price, string? cash = null, string state = "OR", string rate = "0",
        string lateFee = "0.00", int graceDays = 0)
    {
        Say(on, new JsonObject
        {
            ["do"] = "set-tax", ["jurisdiction"] = "invented", ["rate"] = rate, ["from"] = "2000-01-01",
            ["taxes"] = new JsonObject { ["rent"] = true },
        });
        Say(on, new JsonObject
        {
            ["do"] = "sign", ["contract"] = Contract, ["on"] = Iso(on), ["household"] = "an invented family", ["state"] = state,
            ["jurisdiction"] = "invented", ["startOn"] = Iso(on),
            ["instrument"] = new JsonObject { ["kind"] = "trumpet", ["serial"] = "LT-1", ["condition"] = "new" },
            ["terms"] = new JsonObject
            {
                ["cashPrice"] = cash ?? price, ["purchasePrice"] = price, ["monthlyRent"] = rent, ["creditShare"] = "1.00",
                ["lateFee"] = new JsonObject { ["amount"] = lateFee, ["graceDays"] = graceDays },
            },
        });
        return this;
    }

    public PublishedExamples Pay(LocalDate on, Money amount)
    {
        if (amount.IsPositive)
        {
            Say(on, new JsonObject
            {
                ["do"] = "pay", ["contract"] = Contract, ["on"] = Iso(on), ["amount"] = amount.ToString(), ["method"] = "cash",
            });
        }

        return this;
    }

    public Account On(LocalDate day) => shop.Account(Contract, day)!;

    private void Say(LocalDate on, JsonObject command)
    {
        command["key"] = $"k{++keys}";
        command["at"] = InstantPattern.ExtendedIso.Format((on + new LocalTime(12, 0)).InZoneStrictly(InMemoryShop.Zone).ToInstant());
        var refusal = shop.Apply(command.ToJsonString());
        Assert.True(refusal is null, refusal?.Detail);
    }

    private static string Iso(LocalDate day) => LocalDatePattern.Iso.Format(day);
}
