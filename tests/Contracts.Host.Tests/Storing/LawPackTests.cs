using System.Text.Json.Nodes;
using Contracts.Agreements;
using Contracts.Host.Tests.Support;
using Contracts.Law;
using Contracts.Store;
using NodaTime;
using Xunit;

namespace Contracts.Host.Tests.Storing;

/// <summary>Law packs that a shop adopts: an event, for contracts signed from then on, and nothing in part.</summary>
public sealed class LawPackTests(Server server)
{
    [Fact]
    public async Task An_adopted_pack_is_for_contracts_signed_from_then_on()
    {
        var database = await server.NewDatabaseAsync();
        await using var store = await ContractsStore.OpenAsync(database, new StoreSettings(Server.Zone, true));
        await store.ApplyAsync(Lines.Tax, Lines.Sign("C-1", "S-1"));
        var before = await store.Reader.HistoryAsync("C-1", Instant.MaxValue, CancellationToken.None);
        Assert.IsType<CommandResult.Applied>((await store.ApplyAsync(Adopt("a", Pack(2), "2026-09-02T00:00:00Z", "read by counsel (invented)")))[0]);
        await store.ApplyAsync(Lines.Sign("C-2", "S-2", at: "2026-09-03T12:00:00Z"));
        var after = await store.Reader.HistoryAsync("C-2", Instant.MaxValue, CancellationToken.None);
        Assert.Equal(("OR.1", "OR.2"), (before!.Signing.LawPack, after!.Signing.LawPack));

        // Another process finds the adopted pack among the events, with who and what counsel said.
        await using var again = await ContractsStore.OpenAsync(database, new StoreSettings(Server.Zone, true));
        var book = (await again.Reader.RatesAsync(Instant.MaxValue, CancellationToken.None)).Law;
        var adopted = Assert.Single(book.Adopted("OR"));
        Assert.Equal(("OR.2", "ada", "read by counsel (invented)"), (adopted.Pack.Reference, adopted.By, adopted.CounselNote));
        Assert.Empty((await again.Reader.RatesAsync(Instant.FromUtc(2026, 9, 1, 23, 0), CancellationToken.None)).Law.Adopted("OR"));
    }

    [Fact]
    public async Task A_pack_with_a_fault_or_an_old_version_is_refused_and_nothing_is_adopted()
    {
        await using var store = await server.NewStoreAsync();
        await store.ApplyAsync(Lines.Tax);
        var faulty = Pack(2).Replace("\"citation\"", "\"citaton\"", StringComparison.Ordinal);
        Assert.Equal(RefusalCode.LawPackInvalid, Refused(await store.ApplyAsync(Adopt("a", faulty, "2026-09-02T00:00:00Z"))).Code);
        var old = Refused(await store.ApplyAsync(Adopt("b", Pack(1), "2026-09-02T00:00:00Z")));
        Assert.Equal((RefusalCode.LawPackNotNew, "2"), (old.Code, old.RightFigure));
        Assert.Empty((await store.Reader.RatesAsync(Instant.MaxValue, CancellationToken.None)).Law.Adopted("OR"));
    }

    [Fact]
    public async Task Counsels_note_lets_a_contract_be_signed_where_such_deals_are_sales_on_credit()
    {
        await using var store = await server.NewStoreAsync();
        await store.ApplyAsync(Lines.Tax);
        var sign = Lines.Sign("C-1", "S-1", at: "2026-09-03T12:00:00Z").Replace("\"OR\"", "\"NJ\"", StringComparison.Ordinal);
        Assert.Equal(RefusalCode.UnlawfulTerms, Refused(await store.ApplyAsync(sign)).Code);
        var pack = JsonNode.Parse(LawBook.SuppliedFor("NJ")!.File.Span)!;
        pack["version"] = 2;
        await store.ApplyAsync(Adopt("a", pack.ToJsonString(), "2026-09-03T13:00:00Z", "form 7 (invented)"));
        sign = sign.Replace("T12:", "T14:", StringComparison.Ordinal);
        Assert.IsType<CommandResult.Applied>((await store.ApplyAsync(sign))[0]);
    }

    private static Refusal Refused(IReadOnlyList<CommandResult> answers) => Assert.IsType<CommandResult.Refused>(answers[0]).Refusal;

    private static string Adopt(string key, string pack, string at, string? note = null)
    {
        var line = new JsonObject { ["do"] = "adopt-law", ["key"] = key, ["at"] = at, ["by"] = "ada", ["pack"] = pack };
        if (note is not null) { line["counselNote"] = note; }
        return line.ToJsonString();
    }

    /// <summary>Invented: no act says this.</summary>
    private static string Pack(int version) => new JsonObject
    {
        ["pack"] = 1, ["jurisdiction"] = "OR", ["name"] = "Sample", ["act"] = "Sample act", ["version"] = version, ["verified"] = "whole",
        ["treatment"] = "rental-purchase-act",
        ["sources"] = new JsonObject { ["S"] = new JsonObject { ["text"] = "invented", ["how"] = "invented", ["asOf"] = "2026", ["wholeAct"] = true } },
        ["rules"] = new JsonArray(new JsonObject
        {
            ["kind"] = "price-cap", ["citation"] = "Sample § 1", ["verified"] = "read", ["source"] = "S",
            ["subject"] = "total-of-payments", ["rental"] = "any", ["base"] = "cash-price", ["factor"] = "3",
        }),
    }.ToJsonString();
}
