using System.Globalization;
using System.Text;
using System.Text.Json;
using System.Text.Json.Nodes;
using Contracts.Disclosures;
using Contracts.Explain;
using Contracts.History;
using Contracts.Tests.Explain;
using Contracts.Tests.Support;
using CsCheck;
using NodaTime;
using Xunit;

namespace Contracts.Tests.Walks;

/// <summary>Every tree of every figure over generated lives, worked out again from what is printed.</summary>
public sealed class ExplainWalkTests
{
    private static readonly long Lives =
        long.Parse(Environment.GetEnvironmentVariable("CONTRACTS_LIVES") ?? "1000", CultureInfo.InvariantCulture);

    /// <summary>What docs/explain.md promises; with two levels of JSON each, well inside the 64 at which common readers stop.</summary>
    private const int DeepestTree = 30;

    [Fact]
    public void Every_figure_is_worked_out_again_from_its_tree_and_is_the_accounts_own() => Gen.Int[0, int.MaxValue].Sample(seed =>
    {
        var life = Life.Generate(seed);
        var (on, known) = Question(life);
        var history = life.Shop.History(life.Contract).AsKnownAt(known);
        if (Explanation.At(history, life.Shop.RatesAt(known), on) is not { } explanation) { return; }
        var account = life.Shop.Account(life.Contract, on, known)!;
        var expected = Printed(account);
        Assert.All(expected.Keys, name => Assert.Contains(name, explanation.Figures));
        foreach (var figure in explanation.Figures)
        {
            var tree = Tree(explanation.Of(figure)!);
            Assert.Equal((seed, figure, figure), (seed, figure, (string)tree["figure"]!));
            Assert.True(Levels(tree) <= DeepestTree, $"seed {seed}, {figure} on {on} as known at {known}: {Levels(tree)} levels: {string.Join(" > ", Deepest(tree))}");
            var faults = TreeArithmetic.Faults(tree);
            Assert.True(faults.Count == 0, $"seed {seed}, {figure} on {on} as known at {known}: {string.Join("; ", faults)}");
            if (expected.TryGetValue(figure, out var value)) { Assert.Equal((seed, figure, value), (seed, figure, (string)tree["value"]!)); }
            CheckEvents(tree, history, on, seed, figure);
        }

        // Open items by id and part: each part is the account's, and the parts of one id are its sum.
        foreach (var item in account.OpenItems.GroupBy(item => item.Id))
        {
            var sum = item.Aggregate(Money.Zero, (total, one) => total + one.Open);
            Assert.Equal((seed, item.Key, sum.ToString()), (seed, item.Key, explanation.Of($"openItems.{item.Key}")!.Value));
        }

        Assert.Null(explanation.Of("openItems.nothing"));
        Assert.Null(explanation.Of("equities"));
    }, iter: Lives);

    /// <summary>A view in which something is known and signed, nearly always.</summary>
    private static (LocalDate On, Instant Known) Question(Life life)
    {
        var (on, known) = life.Question();
        return life.Shop.Account(life.Contract, on, known) is null ? (life.SignedOn.PlusDays(on.Day * 20), Instant.MaxValue) : (on, known);
    }

    /// <summary>The money figures of an account as its JSON has them, by path; an account without a next due has nothing there.</summary>
    private static Dictionary<string, string> Printed(Account account)
    {
        var figures = new Dictionary<string, string>(StringComparer.Ordinal);
        var json = JsonNode.Parse(AccountText.Of(account))!.AsObject();
        foreach (var (name, value) in json)
        {
            if (value is JsonValue && Money.TryParse(value.ToString(), out _) && value.GetValueKind() == JsonValueKind.String) { figures.Add(name, value.ToString()); }
            if (value is not JsonObject group || name == "instrument") { continue; }
            foreach (var (inner, of) in group)
            {
                if (of is JsonValue && (of.GetValueKind() == JsonValueKind.Number || Money.TryParse(of.ToString(), out _))) { figures.Add($"{name}.{inner}", of.ToString()); }
            }
        }

        figures.TryAdd("nextDue.amount", "0.00");
        Assert.Equal(21 + 4, figures.Count);
        return figures;
    }

    /// <summary>An event under a figure is known, its day has come, and it is the one of that number and key; a number that is nothing's cites its source.</summary>
    private static void CheckEvents(JsonNode node, ContractHistory history, LocalDate on, int seed, string figure)
    {
        // Only bounds, tax rates and what an act says come from no event of the contract.
        if (node["event"] is null && ((string)node["rule"]!).StartsWith("given:", StringComparison.Ordinal))
        {
            Assert.Contains((string)node["figure"]!, new[] { "nothing", "the whole", "tax rate", "share", "the most that the act allows", "earlyPurchase.tax" });
        }

        if (node["event"] is JsonObject named)
        {
            var fact = history.Facts.Single(one => one.Sequence == (long)named["sequence"]!);
            Assert.True((string)named["key"]! == fact.Key && fact.Event.On <= on, $"seed {seed}, {figure}: {named}");
        }

        foreach (var part in node["parts"]!.AsArray()) { CheckEvents(part!, history, on, seed, figure); }
    }

    private static int Levels(JsonNode tree) => 1 + tree["parts"]!.AsArray().Select(part => Levels(part!)).DefaultIfEmpty(0).Max();

    private static IEnumerable<string> Deepest(JsonNode tree) =>
        tree["parts"]!.AsArray().MaxBy(part => Levels(part!)) is { } next ? Deepest(next).Prepend((string)tree["figure"]!) : [(string)tree["figure"]!];

    private static JsonNode Tree(ExplainNode node)
    {
        using var buffer = new MemoryStream();
        using (var json = new Utf8JsonWriter(buffer)) { ExplainJson.Write(json, node); }
        return JsonNode.Parse(Encoding.UTF8.GetString(buffer.ToArray()))!;
    }
}
