using System.Text.Json.Nodes;
using Contracts.Host.Tests.Support;
using Contracts.Host.Terminal;
using Xunit;

namespace Contracts.Host.Tests.Terminal;

/// <summary>The executable as a shell sees it: standard output, standard error and the exit code.</summary>
public sealed class CommandLineTests(Server server) : IDisposable
{
    private readonly string folder = Directory.CreateTempSubdirectory("contracts-lines-").FullName;

    public void Dispose() => Directory.Delete(folder, recursive: true);

    [Fact]
    public async Task A_file_is_loaded_line_by_line_and_every_refusal_names_its_line()
    {
        var database = await server.NewDatabaseAsync();
        var file = await FileOfAsync(
            Lines.Tax, Lines.Sign("C-1", "S-1"), "", "{\"do\":\"pay\",", Lines.Pay("C-9", "p", "1.00", "2026-09-02T12:00:00Z"),
            Lines.Pay("C-1", "q", "21.60", "2026-09-02T12:00:00Z"), Lines.Pay("C-1", "r", "1.005", "2026-09-02T12:00:00Z"));
        var loaded = await RunAsync(database, "load", file, "--simulated-clock");
        Assert.Equal(ExitCodes.Refused, loaded.Exit);
        var summary = JsonNode.Parse(loaded.Output)!;
        Assert.Equal((3, 0), ((int)summary["applied"]!, (int)summary["already"]!));
        Assert.Equal(
            ["4 malformed-line", "5 contract-unknown", "7 amount-invalid"],
            summary["refused"]!.AsArray().Select(line => $"{line!["line"]} {line["code"]}"));

        var again = JsonNode.Parse((await RunAsync(database, "load", file, "--simulated-clock")).Output)!;
        Assert.Equal((0, 3), ((int)again["applied"]!, (int)again["already"]!));
    }

    [Fact]
    public async Task An_account_is_printed_as_of_a_day_as_known_at_a_moment()
    {
        var database = await server.NewDatabaseAsync();
        await RunAsync(database, "load", "--simulated-clock", await FileOfAsync(
            Lines.Tax, Lines.Sign("C-1", "S-1"), Lines.Pay("C-1", "q", "21.60", "2026-09-20T12:00:00Z", on: "2026-09-02")));
        var now = JsonNode.Parse((await RunAsync(database, "account", "C-1", "--on", "2026-09-10")).Output)!;
        var then = JsonNode.Parse((await RunAsync(database, "account", "C-1", "--on", "2026-09-10", "--known", "2026-09-19")).Output)!;
        Assert.Equal(("20.00", "0.00"), ((string)now["equity"]!, (string)now["pastDue"]!));
        Assert.Equal(("0.00", "26.60"), ((string)then["equity"]!, (string)then["pastDue"]!));
        var accounts = await RunAsync(database, "accounts", "--on", "2026-09-10", "--format", "jsonl");
        Assert.Equal(now.ToJsonString(), JsonNode.Parse(accounts.Output.Trim())!.ToJsonString());
        var portfolio = JsonNode.Parse((await RunAsync(database, "portfolio", "--on", "2026-09-10")).Output)!;
        Assert.Equal((1, "20.00"), ((int)portfolio["accounts"]!, (string)portfolio["equity"]!));
    }

    [Fact]
    public async Task A_refusal_is_one_problem_and_wrong_usage_another_exit()
    {
        var database = await server.NewDatabaseAsync();
        var unknown = await RunAsync(database, "account", "C-404", "--format", "json");
        Assert.Equal((ExitCodes.Refused, ""), (unknown.Exit, unknown.Output));
        var problem = JsonNode.Parse(unknown.Error)!;
        Assert.Equal(("contract-unknown", 404), ((string)problem["code"]!, (int)problem["status"]!));
        Assert.Equal(ExitCodes.WrongUsage, (await RunAsync(database, "account", "C-1", "--on", "2026-02-30")).Exit);
        Assert.Equal(ExitCodes.WrongUsage, (await RunAsync(database, "acount")).Exit);
        Assert.Equal(ExitCodes.Failed, (await RunAsync(database, "load", "/nowhere/at-all.jsonl")).Exit);
        Assert.Equal(ExitCodes.WrongUsage, (await RunAsync("rubbish", "accounts")).Exit);
        Assert.Equal(ExitCodes.WrongUsage, (await RunAsync(database, "demo")).Exit);
        Assert.Equal(ExitCodes.Failed, (await RunAsync("Host=127.0.0.1;Port=1;Username=x;Timeout=2", "accounts")).Exit);
    }

    [Fact]
    public async Task A_line_without_end_is_refused_without_being_kept()
    {
        var database = await server.NewDatabaseAsync();
        var file = Path.Combine(folder, Guid.NewGuid().ToString("N"));
        await File.WriteAllTextAsync(file, Lines.Tax + "\n" + new string('x', 40_000_000) + "\n" + Lines.Sign("C-1", "S-1"));
        var summary = JsonNode.Parse((await RunAsync(database, "load", file, "--simulated-clock")).Output)!;
        Assert.Equal(2, (int)summary["applied"]!);
        Assert.Equal("line-too-long", (string)summary["refused"]![0]!["code"]!);
    }

    [Fact]
    public async Task History_check_and_rebuild_answer_for_the_demo_year()
    {
        var database = await server.NewDatabaseAsync();
        var demo = await RunAsync(database, "demo", "--into-database");
        Assert.Equal(ExitCodes.Done, demo.Exit);
        Assert.Contains("126.00", demo.Output, StringComparison.Ordinal);
        var history = JsonNode.Parse((await RunAsync(database, "history", "C-1042")).Output)!.AsArray();
        Assert.Contains(history, line => (string)line!["event"]! == "instrument_swapped");
        var check = JsonNode.Parse((await RunAsync(database, "check")).Output)!;
        Assert.True((bool)check["ok"]!, check["faults"]!.ToJsonString() + demo.Error);
        Assert.True((bool)JsonNode.Parse((await RunAsync(database, "rebuild")).Output)!["same"]!);
    }

    [Fact]
    public async Task The_demo_tells_the_year_and_the_days_after_it_and_names_commands_that_show_the_same()
    {
        var database = await server.NewDatabaseAsync();
        var demo = await RunAsync(database, "demo", "--into-database");
        Assert.True(demo.Exit == ExitCodes.Done, demo.Error);
        foreach (var told in (string[])["│ proposed  │", "│ unmatched │", "payment-due", "0 breaches", "pastDue                         41.04         0.00", "upheld: The check", "│ repaired ", "│ -41.14 │"])
        {
            Assert.Contains(told, demo.Output, StringComparison.Ordinal);
        }

        // A reader goes on alone with them; one of each kind is tried.
        var commands = demo.Output.Split('\n').Where(line => line.StartsWith("$ contracts ", StringComparison.Ordinal)).Select(line => line.Trim().Split(' ')[2..]).ToList();
        Assert.Equal(13, commands.Count);
        foreach (var command in commands.DistinctBy(one => one[0])) { Assert.Equal((ExitCodes.Done, ""), await ExitAsync(command)); }

        // Told again it records nothing twice.
        string[][] looks = [["history", "C-1042"], ["bank", "files"]];
        var before = new List<string>();
        foreach (var look in looks) { before.Add((await RunAsync(database, look)).Output); }
        Assert.Equal(ExitCodes.Done, (await RunAsync(database, "demo", "--into-database")).Exit);
        foreach (var (look, told) in looks.Zip(before)) { Assert.Equal(told, (await RunAsync(database, look)).Output); }

        async Task<(int Exit, string Error)> ExitAsync(string[] command)
        {
            var (exit, _, error) = await RunAsync(database, command);
            return (exit, error);
        }
    }

    [Fact]
    public async Task Figures_of_the_demo_year_are_explained_and_two_views_of_it_compared()
    {
        var database = await server.NewDatabaseAsync();
        Assert.Equal(ExitCodes.Done, (await RunAsync(database, "demo", "--into-database")).Exit);
        string[] view = ["--on", "2026-12-07", "--known", "2026-12-08"];
        var account = JsonNode.Parse((await RunAsync(database, ["account", "C-1042", .. view])).Output)!;
        var payoff = JsonNode.Parse((await RunAsync(database, ["explain", "C-1042", "earlyPurchase.payoff", .. view])).Output)!;
        Assert.Equal(["figure", "value", "rule", "citation", "event", "parts"], payoff.AsObject().Select(member => member.Key));
        Assert.Equal((string)account["earlyPurchase"]!["payoff"]!, (string)payoff["value"]!);
        var drawn = (await RunAsync(database, ["explain", "C-1042", "equity", "--format", "table", .. view])).Output;
        Assert.Contains("rent credit 94.50  rounded-product: the share of the rent paid that counts: 94.50 x 1.00", drawn, StringComparison.Ordinal);
        Assert.DoesNotContain("\u001b[", drawn, StringComparison.Ordinal);

        // The check of 5 December was recorded on the 9th: a late arrival, which is all that differs on the 7th.
        var compared = JsonNode.Parse((await RunAsync(database, ["compare", "C-1042", .. view, "--with-on", "2026-12-07", "--with-known", "2026-12-10"])).Output)!;
        var equity = compared["figures"]!.AsArray().Single(figure => (string)figure!["figure"]! == "equity")!;
        Assert.Equal(("94.50", "126.00", "31.50"), ((string)equity["from"]!, (string)equity["to"]!, (string)equity["difference"]!));
        var because = Assert.Single(equity["because"]!.AsArray())!;
        Assert.Equal(
            ("knowledge", "2026-12-05", true, "C-1042-007", "31.50"),
            ((string)because["by"]!, (string)because["on"]!, (bool)because["backdated"]!, (string)because["event"]!["key"]!, (string)because["amount"]!));
        var table = (await RunAsync(database, ["compare", "C-1042", "--format", "table", .. view, "--with-on", "2027-01-10"])).Output;
        Assert.Contains("both: 2027-01-05 payment of 41.04 by card", table, StringComparison.Ordinal);

        var refused = await RunAsync(database, ["explain", "C-1042", "equities", "--format", "json", .. view]);
        Assert.Equal((ExitCodes.Refused, ""), (refused.Exit, refused.Output));
        Assert.Contains("openItems.installment:2026-12-05.rent", (string)JsonNode.Parse(refused.Error)!["detail"]!, StringComparison.Ordinal);
        Assert.Equal(ExitCodes.Refused, (await RunAsync(database, "compare", "C-404")).Exit);
        Assert.Equal(ExitCodes.WrongUsage, (await RunAsync(database, "explain", "C-1042")).Exit);
    }

    private async Task<string> FileOfAsync(params string[] lines)
    {
        var file = Path.Combine(folder, Guid.NewGuid().ToString("N"));
        await File.WriteAllLinesAsync(file, lines);
        return file;
    }

    private static Task<(int Exit, string Output, string Error)> RunAsync(string database, params string[] arguments) =>
        Shell.StartContractsAsync(database, [], arguments);
}
