using System.Globalization;
using System.Text;
using System.Text.Json;
using System.Text.Json.Nodes;
using Contracts.Agreements;
using Contracts.Explain;
using Contracts.Papers;
using Contracts.Tests.Explain;
using Contracts.Tests.Support;
using CsCheck;
using NodaTime;
using Xunit;

namespace Contracts.Tests.Papers;

/// <summary>Every amount on a paper is a tree that can be worked out again, and is what the paper says.</summary>
public sealed class PaperExplanationTests
{
    private static readonly long Lives =
        long.Parse(Environment.GetEnvironmentVariable("CONTRACTS_LIVES") ?? "200", CultureInfo.InvariantCulture);

    [Fact]
    public void Every_amount_of_every_kind_of_paper_is_the_papers_own_and_adds_up()
    {
        var shop = new InMemoryShop();
        foreach (var line in File.ReadLines(Path.Combine(Golden.Root, "fixtures", "papers", "life.jsonl"))) { Assert.Null(shop.Apply(line)); }
        var seen = new HashSet<string>(StringComparer.Ordinal);
        foreach (var issued in shop.History("P-1").Entries.Select(entry => entry.Event).OfType<ContractEvent.DocumentIssued>())
        {
            var then = shop.History("P-1").ThroughSequence(issued.ThroughSequence);
            var rates = shop.RatesThrough(issued.ThroughSequence);
            var (paper, refusal) = PaperDesk.Again(then, rates, issued);
            Assert.Null(refusal);
            seen.Add(paper!.Kind);
            Check(PaperExplanation.Of(then, rates, paper), paper);
        }

        Assert.Equal(Enum.GetValues<PaperKind>().Length, seen.Count);
    }

    [Fact]
    public void Receipts_and_statements_of_generated_lives_add_up() => Gen.Int[0, int.MaxValue].Sample(seed =>
    {
        var life = Life.Generate(seed);
        var history = life.Shop.History(life.Contract);
        foreach (var fact in history.Facts.Where(fact => fact.Event is ContractEvent.PaymentReceived or ContractEvent.BoughtEarly or ContractEvent.RefundIssued or ContractEvent.PaymentReversed))
        {
            var (then, rates) = (history.ThroughSequence(fact.Sequence), life.Shop.RatesThrough(fact.Sequence));
            var receipt = fact.Event is ContractEvent.PaymentReceived or ContractEvent.BoughtEarly;
            foreach (var request in new[] { new PaperRequest(PaperKind.Statement, null, fact.Event.On, fact.At), new PaperRequest(PaperKind.Receipt, fact.Key, fact.Event.On, fact.At) })
            {
                if (request.Kind == PaperKind.Receipt && !receipt) { continue; }
                if (PaperMaker.Make(then, rates, request).Paper is { } paper) { Check(PaperExplanation.Of(then, rates, paper), paper, ownOnly: true); }
            }
        }
    }, iter: Lives / 4);

    [Fact]
    public void A_name_that_the_paper_does_not_have_is_refused_with_those_it_has()
    {
        var life = Script.Given("2026-09-05 sign\n2026-09-05 pay amount=50.00 method=cash");
        var history = life.Shop.History("C-1");
        var rates = life.Shop.RatesAt(Instant.MaxValue);
        var paper = PaperMaker.Make(history, rates, new PaperRequest(PaperKind.Receipt, "L2", new LocalDate(2026, 9, 5), history.Entries[^1].At)).Paper!;
        var explanation = PaperExplanation.Of(history, rates, paper);
        Assert.Null(explanation.Of("statement.charged"));
        Assert.Contains("receipt.waiting", explanation.Unknown("statement.charged").Detail, StringComparison.Ordinal);
        var waiting = explanation.Of("receipt.waiting")!;
        Assert.Equal(("5.00", "difference: what was paid less what it paid: 50.00 - 45.00"), (waiting.Value, waiting.Rule));
        Assert.Equal("L2", waiting.Parts[0].Event!.Key);
    }

    /// <summary>Those of the account are walked for themselves; on generated lives only the paper's own are looked at.</summary>
    private static void Check(PaperExplanation explanation, Paper paper, bool ownOnly = false)
    {
        var printed = JsonNode.Parse(Encoding.UTF8.GetString(PaperJson.Bytes(paper)))!;
        foreach (var figure in explanation.Figures.Where(one => !ownOnly || one.StartsWith("receipt.", StringComparison.Ordinal) || one.StartsWith("statement.", StringComparison.Ordinal)))
        {
            var tree = Tree(explanation.Of(figure)!);
            Assert.Equal(figure, (string)tree["figure"]!);
            var faults = TreeArithmetic.Faults(tree);
            Assert.True(faults.Count == 0, $"{paper.Contract} {paper.Kind} of {paper.On}, {figure}: {string.Join("; ", faults)}");
            if (Printed(printed, figure) is { } value) { Assert.Equal((paper.Kind, figure, value), (paper.Kind, figure, (string)tree["value"]!)); }
        }
    }

    /// <summary>The amount as the paper's own data have it; null for a name under which they have none.</summary>
    private static string? Printed(JsonNode paper, string figure)
    {
        if (figure.StartsWith("receipt.states.", StringComparison.Ordinal))
        {
            return (string?)paper["receipt"]!["states"]!.AsArray().Single(one => string.Equals(((string)one!["item"]!).Replace('_', '-'), figure[15..], StringComparison.OrdinalIgnoreCase))!["amount"];
        }

        var node = paper["figures"]![figure.Split('.')[0]] is not null ? paper["figures"] : paper;
        foreach (var name in figure.Split('.')) { node = (node as JsonObject)?[name]; }
        return node is JsonValue ? node.ToString() : null;
    }

    private static JsonNode Tree(ExplainNode node)
    {
        using var buffer = new MemoryStream();
        using (var json = new Utf8JsonWriter(buffer)) { ExplainJson.Write(json, node); }
        return JsonNode.Parse(Encoding.UTF8.GetString(buffer.ToArray()))!;
    }
}
