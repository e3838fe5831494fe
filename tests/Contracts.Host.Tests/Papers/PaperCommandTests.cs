using System.Text.Json.Nodes;
using Contracts.Host.Terminal;
using Contracts.Host.Tests.Support;
using Contracts.Papers;
using Xunit;

namespace Contracts.Host.Tests.Papers;

/// <summary>Issuing, listing and making again as a shell sees them.</summary>
public sealed class PaperCommandTests(Server server) : IDisposable
{
    private readonly string folder = Directory.CreateTempSubdirectory("contracts-papers-").FullName;

    public void Dispose() => Directory.Delete(folder, recursive: true);

    [Fact]
    public async Task A_paper_is_issued_listed_and_made_again()
    {
        var database = await LoadedAsync();
        var (html, again) = (Path.Combine(folder, "receipt.html"), Path.Combine(folder, "again.html"));
        var issued = await RunAsync(database, "issue", "P-1", "--kind", "receipt", "--for", "p-4", "--out", html, "--by", "clerk 3");
        Assert.Equal((ExitCodes.Done, ""), (issued.Exit, issued.Error));
        var paper = JsonNode.Parse(issued.Output)!;
        Assert.Equal(
            ("receipt:p-4", "receipt", "p-4", "2026-12-29", "clerk 3", "receipt.2"),
            ((string)paper["id"]!, (string)paper["kind"]!, (string)paper["for"]!, (string)paper["on"]!, (string)paper["by"]!, (string)paper["template"]!));
        Assert.Equal((string)paper["digest"]!, PaperJson.Digest(await File.ReadAllBytesAsync(html)));
        Assert.Equal((string)paper["dataDigest"]!, PaperJson.Digest(await File.ReadAllBytesAsync(Path.ChangeExtension(html, ".json"))));

        // Asked again, it is the same paper and not another.
        var repeated = await RunAsync(database, "issue", "P-1", "--kind", "receipt", "--for", "p-4", "--out", "-");
        Assert.Equal((ExitCodes.Done, await File.ReadAllTextAsync(html)), (repeated.Exit, repeated.Output));
        var papers = JsonNode.Parse((await RunAsync(database, "papers", "P-1")).Output)!.AsArray();
        Assert.Equal((12, paper.ToJsonString()), (papers.Count, papers[^1]!.ToJsonString()));

        var same = await RunAsync(database, "reissue", "receipt:p-4", "--out", again);
        Assert.Equal(ExitCodes.Done, same.Exit);
        Assert.Equal(await File.ReadAllBytesAsync(html), await File.ReadAllBytesAsync(again));
        Assert.Contains("document_issued", (await RunAsync(database, "history", "P-1")).Output, StringComparison.Ordinal);
        Assert.True((bool)JsonNode.Parse((await RunAsync(database, "check")).Output)!["ok"]!);
    }

    [Fact]
    public async Task A_paper_that_cannot_be_is_refused_and_nothing_is_written()
    {
        var database = await LoadedAsync();
        var html = Path.Combine(folder, "never.html");
        foreach (var (code, arguments) in new (string, string[])[]
        {
            ("paper-subject-unknown", ["issue", "P-1", "--kind", "receipt", "--for", "nothing", "--out", html]),
            ("paper-day-wrong", ["issue", "P-1", "--kind", "receipt", "--for", "p-4", "--on", "2026-12-30", "--out", html]),
            ("paper-not-due", ["issue", "P-1", "--kind", "final-payment", "--out", html]),
            ("contract-unknown", ["issue", "P-9", "--kind", "statement", "--out", html]),
            ("paper-unknown", ["issue", "P-1", "--kind", "statement", "--key", "p-4", "--out", html]),
            ("paper-unknown", ["reissue", "p-4", "--out", html]),
            ("paper-unknown", ["reissue", "never", "--out", html]),
        })
        {
            var refused = await RunAsync(database, [.. arguments, "--format", "json"]);
            Assert.Equal((ExitCodes.Refused, "", code), (refused.Exit, refused.Output, (string)JsonNode.Parse(refused.Error)!["code"]!));
        }

        Assert.False(File.Exists(html));
        Assert.Equal(ExitCodes.WrongUsage, (await RunAsync(database, "issue", "P-1", "--kind", "letter")).Exit);
        Assert.Equal(ExitCodes.WrongUsage, (await RunAsync(database, "issue", "P-1", "--kind", "statement", "--out", "x.json")).Exit);
        Assert.Equal(11, JsonNode.Parse((await RunAsync(database, "papers", "P-1")).Output)!.AsArray().Count);
    }

    [Fact]
    public async Task A_pdf_without_a_chromium_says_how_to_get_one_and_issues_nothing()
    {
        var database = await LoadedAsync();
        var run = await Shell.ContractsAsync(
            database, [("CONTRACTS_CHROMIUM", Path.Combine(folder, "no-chromium"))], "issue", "P-1", "--kind", "statement", "--pdf", Path.Combine(folder, "s.pdf"));
        Assert.Equal((ExitCodes.Failed, ""), (run.Exit, run.Output));
        Assert.Contains("CONTRACTS_CHROMIUM", run.Error, StringComparison.Ordinal);
        Assert.Equal(11, JsonNode.Parse((await RunAsync(database, "papers", "P-1")).Output)!.AsArray().Count);
    }

    [Fact]
    public async Task A_pdf_is_printed_with_the_tags_that_a_reader_needs()
    {
        await Shell.SystemAsync("chromium", "chromium", "--version");
        var database = await LoadedAsync();
        var pdf = Path.Combine(folder, "agreement.pdf");
        var run = await RunAsync(database, "reissue", "d-agreement", "--pdf", pdf);
        Assert.Equal(ExitCodes.Done, run.Exit);
        var bytes = await File.ReadAllBytesAsync(pdf);
        Assert.True(bytes.AsSpan().StartsWith("%PDF-"u8));
        Assert.True(bytes.AsSpan().IndexOf("/StructTreeRoot"u8) > 0, "the PDF has no tags");
        Assert.True(bytes.AsSpan().IndexOf("612 792"u8) > 0, "the page is not letter");
    }

    private async Task<string> LoadedAsync()
    {
        var database = await server.NewDatabaseAsync();
        var file = Path.Combine(folder, "life.jsonl");
        await File.WriteAllLinesAsync(file, InventedLife.Lines);
        Assert.Equal(ExitCodes.Done, (await RunAsync(database, "load", file, "--simulated-clock")).Exit);
        return database;
    }

    private static Task<(int Exit, string Output, string Error)> RunAsync(string database, params string[] arguments) => Shell.ContractsAsync(database, arguments);
}
