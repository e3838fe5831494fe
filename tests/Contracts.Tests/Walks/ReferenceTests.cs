using System.Text.Json.Nodes;
using Contracts.Tests.Reference;
using Contracts.Tests.Support;
using CsCheck;
using NodaTime;
using Xunit;

namespace Contracts.Tests.Walks;

/// <summary>The fold against a second one, written from the rules alone and as plainly as possible.</summary>
public sealed class ReferenceTests
{
    private static readonly long Lives =
        long.Parse(Environment.GetEnvironmentVariable("CONTRACTS_LIVES") ?? "2000", System.Globalization.CultureInfo.InvariantCulture);

    [Fact]
    public void Two_folds_written_apart_agree_to_the_cent_on_every_view() =>
        Gen.Int[0, int.MaxValue].Sample(Agree, iter: Lives);

    private static void Agree(int seed)
    {
        var life = Life.Generate(seed);
        var accepted = life.Shop.Accepted.Select(line => new AcceptedCommand(line.Command, line.At, line.Sequence)).ToList();
        for (var question = 0; question < 3; question++)
        {
            var (on, known) = life.Question();
            var expected = NaiveReference.Account(accepted, life.Contract, on, known, InMemoryShop.Zone);
            var account = life.Shop.Account(life.Contract, on, known);
            var actual = account is null ? null : Comparable(JsonNode.Parse(AccountText.Of(account))!.AsObject());
            var difference = Difference(expected, actual);
            Assert.True(difference is null, $"seed {seed}, on {on:uuuu-MM-dd}, known {known}: {difference}\n{Story(life)}");
        }
    }

    private static string Story(Life life) =>
        string.Join('\n', life.Shop.Accepted.Select(line => line.Command.ToJsonString()));

    private static JsonObject Comparable(JsonObject account)
    {
        account.Remove("known");
        account.Remove("events");
        account.Remove("lastSequence");
        foreach (var item in account["openItems"]!.AsArray()) { item!.AsObject().Remove("id"); }
        return account;
    }

    private static string? Difference(JsonObject? expected, JsonObject? actual)
    {
        if (expected is null || actual is null) { return expected is null && actual is null ? null : "only one of them has an account"; }
        foreach (var (name, value) in expected)
        {
            var (theirs, ours) = (value?.ToJsonString() ?? "null", actual[name]?.ToJsonString() ?? "null");
            if (theirs != ours) { return $"{name}: reference {theirs}, engine {ours}"; }
        }

        return actual.Count == expected.Count ? null : "they have different fields";
    }
}
