using System.Text.Json.Nodes;
using Contracts.Disclosures;
using Contracts.History;
using Contracts.Host.Replay;
using Contracts.Host.Tests.Support;
using Contracts.Tests.Reference;
using NodaTime;
using NodaTime.Text;
using Xunit;

namespace Contracts.Host.Tests.Terminal;

/// <summary>A thousand generated contracts, loaded as one command file, against the second fold on twenty views.</summary>
[Collection(ThousandLives.Name)]
public sealed class PortfolioReferenceTests(ThousandLives thousand)
{
    private const int Views = 20;

    [Fact]
    public async Task A_thousand_loaded_lives_agree_with_the_second_fold_on_twenty_views()
    {
        var (store, lives) = (thousand.Store, thousand.Lives);
        var random = new Random(481);
        for (var view = 0; view < Views; view++)
        {
            var on = new LocalDate(2026, 1, 1).PlusDays(random.Next(1100));
            var known = view % 4 == 0
                ? Instant.FromUtc(2031, 1, 1, 0, 0)
                : Instant.FromUtc(2026, 3, 1, 0, 0) + Duration.FromDays(random.Next(900)) + Duration.FromHours(random.Next(24));
            await AgreeAsync(store, lives, on, known);
        }

        Assert.True((await StoreCheck.RunAsync(store, CancellationToken.None)).Ok);
        Assert.Empty(await store.Placements.DifferencesAsync());
    }

    private static async Task AgreeAsync(
        Store.ContractsStore store, List<List<AcceptedCommand>> lives, LocalDate on, Instant known)
    {
        var rates = await store.Reader.RatesAsync(known);
        var found = new Dictionary<string, Account>(StringComparer.Ordinal);
        var last = "";
        await foreach (var history in store.Reader.HistoriesAsync(known))
        {
            Assert.True(string.CompareOrdinal(last, history.Contract) < 0, "accounts come in ordinal order");
            last = history.Contract;
            if (AccountFold.At(history, rates, on) is { } state) { found[last] = Account.Of(state, known); }
        }

        var expected = lives.AsParallel().Select((life, index) =>
            (Id: $"C-{index + 1}", Account: NaiveReference.Account(life, $"C-{index + 1}", on, known, Server.Zone))).ToList();
        foreach (var (id, account) in expected)
        {
            found.Remove(id, out var ours);
            Assert.Equal(account?.ToJsonString(), ours is null ? null : Comparable(ours));
        }

        Assert.Empty(found);
    }

    private static string Comparable(Account account)
    {
        using var buffer = new MemoryStream();
        using (var json = new System.Text.Json.Utf8JsonWriter(buffer)) { AccountJson.Write(json, account); }
        var node = JsonNode.Parse(buffer.ToArray())!.AsObject();
        node.Remove("known");
        node.Remove("events");
        node.Remove("lastSequence");
        foreach (var item in node["openItems"]!.AsArray()) { item!.AsObject().Remove("id"); }
        return node.ToJsonString();
    }
}
