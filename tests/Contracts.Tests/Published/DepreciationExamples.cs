using System.Text.Json.Nodes;
using Contracts.Books.Depreciation;
using Contracts.Tests.House;
using NodaTime;
using Xunit;

namespace Contracts.Tests.Published;

/// <summary>The examples of fixtures/published/depreciation-examples.json.</summary>
internal static class DepreciationExamples
{
    public static readonly string[] Groups = ["tables", "lives", "disposals", "conventions"];

    public static readonly JsonObject All = (JsonObject)JsonNode.Parse(
        File.ReadAllText(Path.Combine(Repository.Root, "fixtures", "published", "depreciation-examples.json")))!;

    public static IEnumerable<JsonObject> Of(string group) => ((JsonArray)All[group]!).Select(example => (JsonObject)example!);

    public static TheoryData<string> Ids(string group) => [.. Of(group).Select(example => Text(example, "id"))];

    public static JsonObject Find(string group, string id) => Of(group).Single(example => Text(example, "id") == id);

    public static string Text(JsonObject example, string field) => (string)example[field]!;

    public static string[] Texts(JsonObject example, string field) => [.. ((JsonArray)example[field]!).Select(value => (string)value!)];

    public static Money Amount(JsonObject example, string field) => Money.Parse(Text(example, field));

    public static T Word<T>(JsonObject example, string field)
        where T : struct, Enum => Enum.Parse<T>(Text(example, field));

    public static DepreciableUnit Unit(JsonObject example) => new(
        example.ContainsKey("serial") ? Text(example, "serial") : "FH-1",
        Amount(example, "cost"),
        (PropertyClass)(int)example["class"]!,
        PublishedExamples.Date(Text(example, "placed")),
        example.ContainsKey("disposed") ? PublishedExamples.Date(Text(example, "disposed")) : (LocalDate?)null);
}
