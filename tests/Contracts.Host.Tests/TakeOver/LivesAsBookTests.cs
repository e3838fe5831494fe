using System.Text;
using System.Text.Json.Nodes;
using Contracts.Agreements;
using Contracts.Disclosures;
using Contracts.History;
using Contracts.Host.TakeOver;
using Contracts.Host.Tests.Support;
using Contracts.Store;
using Contracts.Tests.Support;
using NodaTime;
using Xunit;

namespace Contracts.Host.Tests.TakeOver;

/// <summary>
/// Generated lives, written as a shop's book and taken over again: what the format carries (terms, plan, payments, return, purchase) comes to the same
/// figures on every day. The book is written here and read by the program, so that neither can hide the other's fault.
/// </summary>
public sealed class LivesAsBookTests(Server server)
{
    private const int Lives = 40;
    private const string Now = "2032-01-05T15:00:00Z";
    private const string Tiers = """[{"throughMonth":3,"discount":"0.40"},{"discount":"0.25"}]""";

    private static readonly string[] Columns =
        ["contract", "household", "kind", "serial", "condition", "cost", "state", "jurisdiction", "signedOn", "startOn", "cashPrice", "purchasePrice", "introductoryMonths", "introductoryPayment",
        "monthlyRent", "creditShare", "planMonthly", "planElected", "planInIntroductory", "lateFee", "lateFeeGraceDays", "returnedPaymentFee", "planEndedOn", "returnedOn", "boughtOn", "boughtFor"];

    [Fact]
    public async Task A_book_written_from_lives_comes_to_the_same_figures_on_every_day()
    {
        var (shop, contracts, payments) = Written();
        var day = new LocalDate(2031, 12, 31);
        var sums = new Portfolio(day, Instant.MaxValue);
        foreach (var contract in shop.Contracts) { sums.Add(shop.Account(contract, day)!); }
        var totals = new JsonObject { ["asOf"] = "2031-12-31", ["contracts"] = shop.Contracts.Count() };
        foreach (var (figure, sum) in sums.Sums) { totals[figure] = sum.ToString(); }

        await using var store = await server.NewStoreAsync();
        foreach (var (line, _, _) in shop.Accepted.Where(one => (string)one.Command["do"]! == "set-tax")) { await store.ApplyAsync(line.ToJsonString()); }
        var (reading, refusal) = BookReading.Read(Bytes(contracts), Bytes(payments), Bytes(Mapping()), Bytes(totals.ToJsonString()), "office");
        Assert.True(reading?.Book is not null, refusal?.Detail ?? string.Join('\n', reading?.Faults.Select(one => one.Refusal.Detail) ?? []));
        var taken = await store.BookIntake.TakeAsync(reading!.Book!, reading.Totals, false, null, TestContext.Current.CancellationToken);
        Assert.True(taken.Refusal is null, taken.Refusal?.Detail);

        var rates = await store.Reader.RatesAsync(Instant.MaxValue, TestContext.Current.CancellationToken);
        foreach (var contract in shop.Contracts)
        {
            var history = (await store.Reader.HistoryAsync(contract, Instant.MaxValue, TestContext.Current.CancellationToken))!;
            for (var on = history.Signing.On; on < day; on = on.PlusDays(37))
            {
                var account = Account.Of(AccountFold.At(history, rates, on)!, Instant.MaxValue);
                Assert.Equal(Text(shop.Account(contract, on)!), Text(account));
            }
        }
    }

    /// <summary>Lives that keep only what a book can say, lived in memory on their own days, and the same written as two files.</summary>
    private static (InMemoryShop Shop, string Contracts, string Payments) Written()
    {
        var shop = new InMemoryShop();
        var (contracts, payments, ended) = (new StringBuilder(string.Join(';', Columns) + "\n"), new StringBuilder("contract;paidOn;amount;method\n"), 0);
        for (var seed = 1; shop.Contracts.Count() < Lives; seed++)
        {
            var life = Life.Generate(seed * 31, steps: 30);
            if (seed == 1)
            {
                foreach (var (line, _, _) in life.Shop.Accepted.Where(one => (string)one.Command["do"]! == "set-tax")) { Assert.Null(shop.Apply(line.ToJsonString())); }
                Assert.Null(shop.Apply(Lines.Tax.Replace("2026-08-01T12:00:00Z", Now, StringComparison.Ordinal)));
            }

            ended += Write(shop, seed, [.. life.Shop.Accepted.Select(one => one.Command)], contracts, payments) ? 1 : 0;
        }

        Assert.True(ended > 5, $"Only {ended} lives ended.");
        return (shop, contracts.ToString(), payments.ToString());
    }

    private static bool Write(InMemoryShop shop, int seed, IReadOnlyList<JsonObject> life, StringBuilder contracts, StringBuilder payments)
    {
        var id = $"L-{seed}";
        var sign = Renamed(life.First(line => (string)line["do"]! == "sign"), id);
        sign["accessories"] = new JsonArray();
        // A book says when a rental began and not what began it.
        sign.Remove("startsAtDelivery");
        sign["terms"]!["earlyPurchase"] = JsonNode.Parse(Tiers);
        sign["instrument"]!["serial"] = $"S-{seed}";
        // An act may forbid the terms now that they are signed on other days; such a life is no contract of the book.
        if (shop.Apply(sign.ToJsonString()) is not null) { return false; }
        var values = Values(sign);
        if (Said(life, "cancel-plan", id).FirstOrDefault(line => shop.Apply(line.ToJsonString()) is null) is { } cancelled) { values["planEndedOn"] = (string)cancelled["on"]!; }
        foreach (var pay in Said(life, "pay", id).OrderBy(line => (string)line["on"]!, StringComparer.Ordinal))
        {
            if (shop.Apply(pay.ToJsonString()) is null) { payments.Append($"{id};{pay["on"]};{pay["amount"]};{pay["method"]}\n"); }
        }

        var ending = Said(life, "return", id).FirstOrDefault();
        if (ending is null && seed % 3 == 0)
        {
            var on = LocalDate.FromDateTime(DateTime.Parse((string)sign["on"]!, System.Globalization.CultureInfo.InvariantCulture)).PlusDays(100 + seed);
            ending = new JsonObject
            {
                ["do"] = "buy", ["key"] = $"{id}-buy", ["at"] = Now, ["contract"] = id, ["on"] = NodaTime.Text.LocalDatePattern.Iso.Format(on), ["method"] = "unknown",
                ["amount"] = shop.Account(id, on)!.EarlyPurchase.Payoff.ToString(),
            };
        }

        var ends = ending is not null && shop.Apply(ending.ToJsonString()) is null;
        if (ends && (string)ending!["do"]! == "return") { values["returnedOn"] = (string)ending["on"]!; }
        if (ends && (string)ending!["do"]! == "buy") { (values["boughtOn"], values["boughtFor"]) = ((string)ending["on"]!, (string)ending["amount"]!); }
        contracts.Append(string.Join(';', Columns.Select(column => values.GetValueOrDefault(column, "")))).Append('\n');
        return ends;
    }

    private static Dictionary<string, string> Values(JsonObject sign)
    {
        var (unit, terms) = (sign["instrument"]!, sign["terms"]!);
        return new(StringComparer.Ordinal)
        {
            ["contract"] = (string)sign["contract"]!, ["household"] = (string)sign["household"]!, ["kind"] = (string)unit["kind"]!, ["serial"] = (string)unit["serial"]!,
            ["condition"] = (string)unit["condition"]!, ["cost"] = (string?)unit["cost"] ?? "", ["state"] = (string)sign["state"]!, ["jurisdiction"] = (string)sign["jurisdiction"]!,
            ["signedOn"] = (string)sign["on"]!, ["startOn"] = (string)sign["startOn"]!, ["cashPrice"] = (string)terms["cashPrice"]!, ["purchasePrice"] = (string)terms["purchasePrice"]!,
            ["introductoryMonths"] = terms["introductory"]!["months"]!.ToString(), ["introductoryPayment"] = (string)terms["introductory"]!["payment"]!,
            ["monthlyRent"] = (string)terms["monthlyRent"]!, ["creditShare"] = (string)terms["creditShare"]!, ["planMonthly"] = (string)terms["plan"]!["monthly"]!,
            ["planElected"] = (bool)sign["planElected"]! ? "yes" : "no", ["planInIntroductory"] = (bool)terms["plan"]!["chargedInIntroductory"]! ? "yes" : "no",
            ["lateFee"] = (string)terms["lateFee"]!["amount"]!, ["lateFeeGraceDays"] = terms["lateFee"]!["graceDays"]!.ToString(), ["returnedPaymentFee"] = (string)terms["returnedPaymentFee"]!,
        };
    }

    private static string Mapping() => new JsonObject
    {
        ["book"] = "lives", ["delimiter"] = ";",
        ["contracts"] = new JsonObject { ["columns"] = new JsonObject([.. Columns.Select(column => KeyValuePair.Create(column, (JsonNode?)column))]), ["earlyPurchase"] = JsonNode.Parse(Tiers) },
        ["payments"] = new JsonObject { ["columns"] = new JsonObject { ["contract"] = "contract", ["paidOn"] = "paidOn", ["amount"] = "amount", ["method"] = "method" } },
    }.ToJsonString();

    private static IEnumerable<JsonObject> Said(IReadOnlyList<JsonObject> life, string name, string id) =>
        life.Where(line => (string)line["do"]! == name).Select(line => Renamed(line, id));

    private static JsonObject Renamed(JsonObject line, string id)
    {
        var renamed = (JsonObject)line.DeepClone();
        (renamed["contract"], renamed["key"], renamed["at"]) = (id, $"{id}-{line["key"]}", Now);
        renamed.Remove("condition");
        return renamed;
    }

    /// <summary>Every figure; the numbers of events are the store's own.</summary>
    private static string Text(Account account)
    {
        using var buffer = new MemoryStream();
        using (var json = new System.Text.Json.Utf8JsonWriter(buffer)) { AccountJson.Write(json, account with { LastSequence = 0, TakenOver = null }); }
        return Encoding.UTF8.GetString(buffer.ToArray());
    }

    private static byte[] Bytes(string text) => Encoding.UTF8.GetBytes(text);
}
