using System.Net;
using System.Text.Json.Nodes;
using Contracts.Host.Tests.Serving.Api;
using Contracts.Host.Tests.Support;
using Contracts.Store;
using Contracts.Store.Vault;
using NodaTime;
using Xunit;

namespace Contracts.Host.Tests.Households;

/// <summary>A family found by the number it was told last, on the record, by those who may see households. Invented numbers of the range for fiction.</summary>
public sealed class TelephoneTests(Server server) : IDisposable
{
    private static readonly CancellationToken None = CancellationToken.None;
    private readonly string folder = Directory.CreateTempSubdirectory("contracts-telephones-").FullName;

    public void Dispose() => Directory.Delete(folder, recursive: true);

    [Fact]
    public async Task A_family_is_found_by_its_number_however_it_is_written_and_the_look_is_on_record()
    {
        await using var running = await RunningApi.StartAsync(server);
        await running.AppliedAsync(Lines.Tax);
        await running.AppliedAsync(Lines.Sign("C-1", "S-1"));
        await running.AppliedAsync(Lines.Sign("C-2", "S-2"));
        await running.AppliedAsync(Told("H", "(503) 555-0143", "2026-09-02"));
        // What is paid for the family stands in the same stream, and is no description.
        await running.AppliedAsync("counter", """{"do":"pay-household","key":"k","at":"2026-09-03T12:00:00Z","household":"H","on":"2026-09-03","amount":"43.20","method":"cash"}""");
        var found = await running.GetAsync("support", "/v1/find?q=" + Uri.EscapeDataString("+1 503 555 0143"), ("X-Purpose", "she calls"));
        Assert.Equal(["C-1 telephone H", "C-2 telephone H"], JsonNode.Parse(found.Text)!.AsArray().Select(one => $"{one!["contract"]} {one["by"]} {one["what"]}"));
        var reading = Assert.Single(await running.Store.Households.ReadingsAsync("H", None));
        Assert.Equal(("A support", "she calls", false), (reading.By, reading.Purpose, reading.Students));
        Assert.Equal("[]\n", (await running.GetAsync("developer", "/v1/find?q=5035550143")).Text);
        Assert.Equal("[]\n", (await running.GetAsync("support", "/v1/find?q=5035550144")).Text);
        var page = await running.GetAsync("support", "/?q=503-555-0143");
        Assert.Contains("telephone H", page.Text, StringComparison.Ordinal);
        Assert.DoesNotContain("(503) 555-0143", page.Text, StringComparison.Ordinal);
        Assert.Equal(2, (await running.Store.Households.ReadingsAsync("H", None)).Count);
    }

    [Fact]
    public async Task The_number_that_was_told_last_counts_and_an_erased_family_is_found_no_more()
    {
        var database = await server.NewDatabaseAsync();
        await using var store = await ContractsStore.OpenAsync(database, new StoreSettings(Server.Zone, true, null, new HouseholdKeys(folder)));
        await store.ApplyAsync(Told("H", "503 555 0143", "2026-09-02"), Told("H-2", "503 555 0143", "2026-09-03"));
        Assert.Equal(["H", "H-2"], await FindAsync(store, "5035550143"));
        await store.ApplyAsync(Told("H", "503 555 0144", "2026-09-04"));
        Assert.Equal(["H-2"], await FindAsync(store, "5035550143"));
        Assert.Equal(["H"], await FindAsync(store, "5035550144"));
        // Another number of the same drawer is not hers.
        var key = new HouseholdKeys(folder).FindOrMakeForTelephones();
        var drawer = TelephoneIndex.DrawerOf("5035550144", key);
        var neighbour = Enumerable.Range(0, int.MaxValue).Select(number => $"212{number:0000000}").First(number => TelephoneIndex.DrawerOf(number, key) == drawer);
        Assert.Empty(await FindAsync(store, neighbour));
        Assert.IsType<CommandResult.Applied>((await store.ApplyAsync(
            """{"do":"erase-household","key":"erase","at":"2026-10-01T12:00:00Z","by":"ada","reason":"asked by the family","household":"H-2"}"""))[0]);
        Assert.Empty(await FindAsync(store, "5035550143"));
        await using var source = Npgsql.NpgsqlDataSource.Create(database);
        await using var rows = source.CreateCommand("select count(*) from vault.telephones");
        Assert.Equal(2L, await rows.ExecuteScalarAsync(TestContext.Current.CancellationToken));
        Assert.Empty((await store.VaultAudit.RunAsync(None)).Differences);
        // Without the key that tells the drawer, nothing is found and nothing is lost.
        File.Delete(Path.Combine(folder, "telephones.key"));
        Assert.Empty(await FindAsync(store, "5035550144"));
        Assert.Equal("503 555 0144", (await store.Households.ReadAsync("H", "ada", "a label", false, Instant.MaxValue, None))!.Facts.Single(fact => fact.Name == "phone").Value);
    }

    [Fact]
    public async Task On_the_command_line_it_takes_a_name_and_a_purpose()
    {
        var database = await server.NewDatabaseAsync();
        var file = Path.Combine(folder, "lines.jsonl");
        await File.WriteAllLinesAsync(file, [Lines.Tax, Lines.Sign("C-1", "S-1"), Told("H", "503 555 0143", "2026-09-02")], TestContext.Current.CancellationToken);
        var loaded = await Shell.ContractsAsync(database, "load", file, "--simulated-clock");
        Assert.True(loaded.Exit == 0, loaded.Output + loaded.Error);
        Assert.Equal("[]\n", (await Shell.ContractsAsync(database, "find", "503-555-0143", "--format", "json")).Output);
        var found = await Shell.ContractsAsync(database, "find", "503-555-0143", "--by", "ada", "--purpose", "she calls", "--format", "json");
        Assert.Contains("\"telephone\"", found.Output, StringComparison.Ordinal);
        Assert.Contains("she calls", (await Shell.ContractsAsync(database, "household", "readings", "H", "--format", "json")).Output, StringComparison.Ordinal);
    }

    private static string Told(string household, string phone, string day) =>
        $$$"""{"do":"describe-household","key":"tell-{{{household}}}-{{{day}}}","at":"{{{day}}}T12:00:00Z","household":"{{{household}}}","facts":{"name":"Invented","phone":"{{{phone}}}"}}""";

    private static Task<IReadOnlyList<string>> FindAsync(ContractsStore store, string number) =>
        store.Households.FindByTelephoneAsync(number, "ada", "she calls", TestContext.Current.CancellationToken);
}
