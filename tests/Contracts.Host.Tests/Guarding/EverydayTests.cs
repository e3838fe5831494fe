using System.Text.Json.Nodes;
using Contracts.Host.Tests.Support;
using Contracts.Law;
using Contracts.Store;
using Contracts.Tests.Support;
using Npgsql;
using Xunit;

namespace Contracts.Host.Tests.Guarding;

/// <summary>The whole normal life of a shop, by a role that can only add.</summary>
public sealed class EverydayTests(Server server) : IDisposable
{
    private readonly string folder = Directory.CreateTempSubdirectory("contracts-everyday-").FullName;

    public void Dispose() => Directory.Delete(folder, recursive: true);

    [Fact]
    public async Task A_school_year_is_loaded_billed_closed_quoted_printed_checked_and_built_again_by_the_app()
    {
        var connection = await server.NewGuardedAsync();
        var quote = await FileAsync("quote.json",
            """{"state":"NY","jurisdiction":"J","startOn":"2027-09-05","terms":{"cashPrice":"300.00","purchasePrice":"300.00","monthlyRent":"30.00","creditShare":"1.00"}}""");
        var pack = JsonNode.Parse(LawBook.SuppliedFor("NJ")!.File.Span)!;
        pack["version"] = 2;
        var law = await FileAsync("NJ.txt", pack.ToJsonString());
        var tax = await FileAsync("tax.jsonl", Lines.Tax.Replace("2026-08-01T12", "2027-07-01T12", StringComparison.Ordinal));
        foreach (var arguments in (string[][])
        [
            ["demo", "--into-database"],
            ["load", tax, "--simulated-clock"],
            ["bill", "--through", "2027-07-31"],
            ["close", "2026-09", "--format", "json"],
            ["packet", "2026-09", "--format", "json"],
            ["quote", quote],
            ["issue", "C-1001", "--kind", "statement", "--out", Path.Combine(folder, "s.html")],
            ["accounts"], ["portfolio"], ["history", "C-1001"], ["papers", "C-1001"], ["quotes"], ["books"], ["postings", "--contract", "C-1001"],
            ["export-journal", Path.Combine(folder, "journal.txt")],
            ["rebuild"], ["check"],
        ])
        {
            await DoneAsync(connection, arguments);
        }

        // A shop's own law packs are adopted by the real clock.
        await DoneAsync(await server.NewGuardedAsync(), ["law", "adopt", law, "--by", "ada"]);
    }

    private static async Task DoneAsync(StoreConnection connection, string[] arguments)
    {
        var (exit, _, error) = await Shell.ContractsWithAsync(connection.Everyday, arguments);
        Assert.True(exit == 0, $"{string.Join(' ', arguments)}: {exit} {error}");
        Assert.DoesNotContain("do not protect", error, StringComparison.Ordinal);
    }

    private async Task<string> FileAsync(string name, string text)
    {
        var path = Path.Combine(folder, name);
        await File.WriteAllTextAsync(path, text);
        return path;
    }
}
