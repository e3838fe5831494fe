using System.Text;
using System.Text.Json.Nodes;
using Contracts.Agreements;
using Contracts.Disclosures;
using Contracts.Host.Papers;
using Contracts.Papers;
using Contracts.Tests.Support;
using NodaTime;
using Xunit;

namespace Contracts.Host.Tests.Papers;

/// <summary>The invented contract of fixtures/papers: it gets every kind of paper, and names with signs that HTML takes for markup.</summary>
internal static class InventedLife
{
    public const string Contract = "P-1";

    public static string[] Lines { get; } = File.ReadAllLines(Path.Combine(Root(), "fixtures", "papers", "life.jsonl"));

    /// <summary>The ids of the papers, and the file each is kept in.</summary>
    public static (string Id, string File)[] Papers { get; } =
        [.. Lines.Select(line => JsonNode.Parse(line)!).Where(line => (string)line["do"]! == "issue").Select(line => (
            (string)line["key"]!, ((string)line["key"]!)[2..]))];

    /// <summary>The whole life without a store, with the program's own press.</summary>
    public static InMemoryShop Live()
    {
        var shop = new InMemoryShop();
        shop.Desk = shop.Desk with { Press = PaperPress.Print };
        foreach (var line in Lines)
        {
            var refusal = shop.Apply(line);
            Assert.True(refusal is null, $"{line}: {refusal?.Detail}");
        }

        return shop;
    }

    /// <summary>The account that a paper shows.</summary>
    public static JsonNode Account(InMemoryShop shop, ContractEvent.DocumentIssued issued)
    {
        var history = shop.History(Contract).ThroughSequence(issued.ThroughSequence);
        var state = Contracts.History.AccountFold.At(history, shop.RatesThrough(issued.ThroughSequence), issued.On)!;
        using var buffer = new MemoryStream();
        using (var json = new System.Text.Json.Utf8JsonWriter(buffer)) { AccountJson.Write(json, Disclosures.Account.Of(state, issued.Known)); }
        return JsonNode.Parse(Encoding.UTF8.GetString(buffer.ToArray()))!;
    }

    internal static string Root()
    {
        var root = AppContext.BaseDirectory;
        while (!File.Exists(Path.Combine(root, "Contracts.sln"))) { root = Path.GetDirectoryName(root)!; }
        return root;
    }
}
