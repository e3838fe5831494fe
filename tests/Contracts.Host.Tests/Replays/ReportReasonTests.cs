using System.Text.Json.Nodes;
using Contracts.Host.Tests.Support;
using Contracts.Host.Terminal;
using Contracts.Tests.Explain;
using Xunit;

namespace Contracts.Host.Tests.Replays;

/// <summary>Figures of papers and of reports of the demo year: what they say, taken apart, and worked out again from what is printed.</summary>
public sealed class ReportReasonTests(Server server)
{
    [Fact]
    public async Task A_figure_of_a_paper_a_total_and_an_account_of_the_books_are_their_own_trees_and_add_up()
    {
        var database = await server.NewDatabaseAsync();
        Assert.Equal(ExitCodes.Done, (await RunAsync(database, "demo", "--into-database")).Exit);

        // The statement was printed on 7 December, before the check of the 5th was keyed.
        var paper = await TreeAsync(database, "explain", "C-1042", "statement.received", "--paper", "C-1042-statement-1");
        Assert.Equal("123.12", (string)paper["value"]!);
        Assert.Equal(["C-1042-002", "C-1042-003", "C-1042-006"], paper["parts"]!.AsArray().Select(part => (string)part!["event"]!["key"]!));
        Assert.Equal("94.50", (string)(await TreeAsync(database, "explain", "C-1042", "equity", "--paper", "C-1042-statement-1"))["value"]!);
        Assert.Equal(ExitCodes.WrongUsage, (await RunAsync(database, "explain", "C-1042", "equity", "--paper", "C-1042-statement-1", "--on", "2026-12-07")).Exit);
        Assert.Equal(ExitCodes.Refused, (await RunAsync(database, "explain", "C-1001", "equity", "--paper", "C-1042-statement-1")).Exit);

        string[] view = ["--on", "2026-12-31"];
        var portfolio = JsonNode.Parse((await RunAsync(database, ["portfolio", .. view])).Output)!;
        var total = await TreeAsync(database, ["explain-report", "portfolio", "equity", .. view, "--most", "3"]);
        Assert.Equal((string)portfolio["equity"]!, (string)total["value"]!);
        Assert.Equal(4, total["parts"]!.AsArray().Count);
        Assert.Matches("^[0-9]+ others$", (string)total["parts"]![3]!["figure"]!);
        var first = ((string)total["parts"]![0]!["figure"]!).Split(' ')[0];
        Assert.Equal((string)total["parts"]![0]!["value"]!, (string)(await TreeAsync(database, ["explain", first, "equity", .. view]))["value"]!);

        var books = JsonNode.Parse((await RunAsync(database, "books", "--through", "2026-12-31")).Output)!;
        var line = books.ToJsonString();
        var rent = await TreeAsync(database, ["explain-report", "books", "4000", .. view, "--most", "500"]);
        Assert.Contains($"\"{((string)rent["value"]!).TrimStart('-')}\"", line, StringComparison.Ordinal);
        Assert.All(rent["parts"]!.AsArray(), contract => Assert.NotEmpty(contract!["parts"]!.AsArray()));
        Assert.Equal(ExitCodes.Refused, (await RunAsync(database, ["explain-report", "portfolio", "equities", .. view])).Exit);
    }

    private static async Task<JsonNode> TreeAsync(string database, params string[] arguments)
    {
        var answer = await RunAsync(database, arguments);
        Assert.True(answer.Exit == ExitCodes.Done, answer.Error);
        var tree = JsonNode.Parse(answer.Output)!;
        Assert.Empty(TreeArithmetic.Faults(tree));
        return tree;
    }

    private static Task<(int Exit, string Output, string Error)> RunAsync(string database, params string[] arguments) => Shell.ContractsAsync(database, arguments);
}
