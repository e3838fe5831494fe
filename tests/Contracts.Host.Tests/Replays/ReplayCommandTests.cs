using System.Text.Json.Nodes;
using Contracts.Host.Tests.Support;
using Contracts.Host.Terminal;
using Xunit;

namespace Contracts.Host.Tests.Replays;

/// <summary>From a complaint to the event through the command line: step, results and differ, extract and replay, watch, on a store.</summary>
public sealed class ReplayCommandTests(Server server) : IDisposable
{
    private const int CannotTell = 125;

    /// <summary>What must not leave the shop with an extract; every one of them stands in the lines below.</summary>
    private static readonly string[] Secrets =
        ["Quillfeather", "Wren", "17 Hidden", "SN-4711", "SN-4712", "check 318", "mara", "dropped", "Mother", "bank desk", "C-1", "family-"];

    private static readonly string[] Life =
    [
        Lines.Tax,
        """{"do":"describe-household","key":"family-h","at":"2026-09-01T11:00:00Z","by":"mara","household":"Quillfeather-9","facts":{"name":"Wren Quillfeather","address":"17 Hidden Lane"}}""",
        Lines.Sign("C-1", "SN-4711", key: "family-1").Replace("\"household\":\"H\"", "\"by\":\"mara\",\"household\":\"Quillfeather-9\"", StringComparison.Ordinal),
        """{"do":"pay","key":"family-2","at":"2026-09-01T12:05:00Z","by":"mara","contract":"C-1","on":"2026-09-01","amount":"21.60","method":"check","reference":"check 318"}""",
        """{"do":"report-damage","key":"family-3","at":"2026-09-20T12:00:00Z","contract":"C-1","on":"2026-09-20","description":"Mother says it was dropped","estimate":"20.00"}""",
        """{"do":"swap","key":"family-4","at":"2026-09-21T12:00:00Z","contract":"C-1","on":"2026-09-21","serial":"SN-4712","returnBy":"2026-09-21","damage":"family-3"}""",
        """{"do":"receive-unit","key":"family-5","at":"2026-09-21T12:10:00Z","contract":"C-1","on":"2026-09-21","serial":"SN-4711"}""",
        """{"do":"pay","key":"family-6","at":"2026-10-02T12:00:00Z","contract":"C-1","on":"2026-10-01","amount":"32.40","method":"card"}""",
        """{"do":"reverse-payment","key":"family-7","at":"2026-10-20T12:00:00Z","by":"bank desk","reason":"Mother stopped it","contract":"C-1","on":"2026-10-20","payment":"family-6","code":"R01"}""",
        Lines.Sign("C-2", "SN-9", at: "2026-10-21T12:00:00Z"),
    ];

    private readonly string folder = Directory.CreateTempSubdirectory("contracts-replays-").FullName;

    public void Dispose() => Directory.Delete(folder, recursive: true);

    [Fact]
    public async Task A_contract_is_stepped_through_to_the_first_event_after_which_a_condition_holds()
    {
        var database = await LoadedAsync();
        var all = await RunAsync(database, "step", "C-1");
        Assert.Equal(ExitCodes.Done, all.Exit);
        var steps = all.Output.TrimEnd().Split('\n').Select(line => JsonNode.Parse(line)!).ToList();
        Assert.Equal(Enumerable.Range(1, 7), steps.Select(step => (int)step["number"]!));
        Assert.Null(steps[0]["before"]);
        Assert.Equal(["signed", "payment_received"], steps.Take(2).Select(step => (string)step["event"]!["event"]!));
        Assert.Equal(steps[0]["after"]!.ToJsonString(), steps[1]["before"]!.ToJsonString());
        Assert.Equal(0m, steps[1]["postings"]!.AsArray().Sum(line => decimal.Parse((string)line!["amount"]!, System.Globalization.CultureInfo.InvariantCulture)));

        var first = await RunAsync(database, "step", "C-1", "--until", "pastDue >= 32.40");
        Assert.Equal(ExitCodes.Done, first.Exit);
        Assert.Equal("family-7", (string)JsonNode.Parse(first.Output)!["event"]!["key"]!);
        var never = await RunAsync(database, "step", "C-1", "--until", "status = returned");
        Assert.Equal((1, ""), (never.Exit, never.Output));
        Assert.Contains("holds after none of the 7 events", never.Error, StringComparison.Ordinal);
        var wrong = await RunAsync(database, "step", "C-1", "--until", "equty < 0");
        Assert.Equal(ExitCodes.WrongUsage, wrong.Exit);
        Assert.Contains("column 1", wrong.Error, StringComparison.Ordinal);
        Assert.Equal(ExitCodes.Refused, (await RunAsync(database, "step", "C-404")).Exit);
    }

    [Fact]
    public async Task What_another_build_had_otherwise_is_found_at_its_event_and_a_file_that_breaks_off_tells_nothing()
    {
        var database = await LoadedAsync();
        var good = Path.Combine(folder, "good.jsonl");
        var written = JsonNode.Parse((await RunAsync(database, "results", "--out", good)).Output)!;
        Assert.Equal(2, (int)written["contracts"]!);
        Assert.Equal(ExitCodes.Done, (await RunAsync(database, "differ", good)).Exit);

        // Another build had a cent more of equity after the second event of C-1.
        var lines = await File.ReadAllLinesAsync(good);
        var equity = JsonNode.Parse(lines[0])!["numbers"]!.AsArray().Select(name => (string)name!).ToList().IndexOf("equity");
        var (contract, place) = (JsonNode.Parse(lines[1])!, 0);
        var changes = contract["steps"]![1]![3]!.AsArray();
        while ((int)changes[place]! != equity) { place += 2; }
        changes[place + 1] = (long)changes[place + 1]! + 1;
        var other = Path.Combine(folder, "other.jsonl");
        await File.WriteAllLinesAsync(other, [lines[0], contract.ToJsonString(), .. lines[2..]]);
        var parts = await RunAsync(database, "differ", other);
        Assert.Equal(1, parts.Exit);
        var cause = Assert.Single(JsonNode.Parse(parts.Output)!["causes"]!.AsArray())!;
        Assert.Equal(
            ("payment_received", "C-1", 2, "20.01", "20.00"),
            ((string)cause["event"]!, (string)cause["first"]!["contract"]!, (int)cause["first"]!["number"]!,
                (string)cause["first"]!["figures"]![0]!["recorded"]!, (string)cause["first"]!["figures"]![0]!["now"]!));
        Assert.Equal("20.00", (string)JsonNode.Parse((await RunAsync(database, ((string)cause["explain"]!).Split(' ')[1..])).Output)!["value"]!);

        Assert.Equal("contracts step C-1 --until 'key = \"family-2\"' --format table", (string)cause["step"]!);

        await File.WriteAllLinesAsync(other, lines[..^1]);
        Assert.Equal(CannotTell, (await RunAsync(database, "differ", other)).Exit);
        Assert.Equal(CannotTell, (await RunAsync(database, "differ", Path.Combine(folder, "none.jsonl"))).Exit);
    }

    [Fact]
    public async Task An_account_taken_away_has_nobody_in_it_and_gives_the_same_figures_in_another_store()
    {
        var database = await LoadedAsync();
        var stored = (await RunAsync(database, "history", "C-1")).Output;
        foreach (var secret in Secrets.Except(["Wren", "17 Hidden", "Quillfeather"])) { Assert.Contains(secret, stored + string.Join('\n', Life), StringComparison.Ordinal); }

        var file = Path.Combine(folder, "case.jsonl");
        var taken = await RunAsync(database, "extract", "C-1", "--out", file);
        Assert.Equal((ExitCodes.Done, true), (taken.Exit, (bool)JsonNode.Parse(taken.Output)!["replaysTheSame"]!));
        var text = await File.ReadAllTextAsync(file) + await File.ReadAllTextAsync(file + ".expected");
        Assert.All(Secrets, secret => Assert.DoesNotContain(secret, text, StringComparison.OrdinalIgnoreCase));

        // In a store that never heard of the shop, and the last expected view of it asked of the account there.
        var elsewhere = await server.NewDatabaseAsync();
        Assert.Equal(ExitCodes.Done, (await RunAsync(elsewhere, "load", file, "--simulated-clock")).Exit);
        var expected = (await File.ReadAllLinesAsync(file + ".expected")).Select(line => JsonNode.Parse(line)!).ToList();
        var account = JsonNode.Parse((await RunAsync(elsewhere, "account", "X-1", "--on", (string)expected[^1]["on"]!, "--known", (string)expected[^1]["known"]!)).Output)!.AsObject();
        account.Remove("events");
        account.Remove("lastSequence");
        Assert.Equal(expected[^1]["account"]!.ToJsonString(), account.ToJsonString());

        Assert.Equal(ExitCodes.Done, (await ReplayAsync(file)).Exit);
        Assert.Equal(ExitCodes.Done, (await Shell.ContractsWithAsync("rubbish", "step", "--file", file, "--until", "equity = 20.00")).Exit);
        expected[2]["account"]!["equity"] = "20.01";
        await File.WriteAllLinesAsync(file + ".expected", expected.Select(view => view.ToJsonString()));
        var otherwise = await ReplayAsync(file, "--format", "table");
        Assert.Equal(1, otherwise.Exit);
        Assert.Matches(@"equity +expected +20\.01 +now +20\.00", otherwise.Output);
        await File.WriteAllTextAsync(file + ".expected", "no figures\n");
        Assert.Equal(CannotTell, (await ReplayAsync(file)).Exit);
        Assert.Equal(CannotTell, (await ReplayAsync(Path.Combine(folder, "none.jsonl"))).Exit);
        Assert.Equal(ExitCodes.Refused, (await RunAsync(database, "extract", "C-404", "--out", file)).Exit);
    }

    [Fact]
    public async Task A_row_changed_by_a_superuser_breaks_an_invariant_that_is_named_with_its_event()
    {
        var database = await LoadedAsync();
        var clean = await RunAsync(database, "watch");
        Assert.Equal((ExitCodes.Done, true), (clean.Exit, (bool)JsonNode.Parse(clean.Output)!["ok"]!));
        await Server.RunAsync(
            database,
            """
            begin; set local session_replication_role = replica;
            update contracts.mt_events set data = jsonb_set(data, '{terms,purchasePrice}', '"-1.00"') where stream_id like '%C-2' and type = 'signed';
            commit
            """);
        var broken = await RunAsync(database, "watch");
        Assert.Equal(ExitCodes.Failed, broken.Exit);
        var breach = JsonNode.Parse(broken.Output)!["breaches"]!.AsArray()[0]!;
        Assert.Equal(("C-2", 1), ((string)breach["contract"]!, (int)breach["number"]!));
        Assert.NotEmpty((string)breach["invariant"]!);
        var tree = await RunAsync(database, ((string)breach["explain"]!).Split(' ')[1..]);
        Assert.Equal((ExitCodes.Done, (string)breach["figure"]!), (tree.Exit, (string)JsonNode.Parse(tree.Output)!["figure"]!));
    }

    private async Task<string> LoadedAsync()
    {
        var database = await server.NewDatabaseAsync();
        var file = Path.Combine(folder, "life.jsonl");
        await File.WriteAllLinesAsync(file, Life);
        var loaded = await RunAsync(database, "load", file, "--simulated-clock");
        Assert.True(loaded.Exit == ExitCodes.Done, loaded.Output + loaded.Error);
        return database;
    }

    private static Task<(int Exit, string Output, string Error)> RunAsync(string database, params string[] arguments) => Shell.ContractsAsync(database, arguments);

    /// <summary>Without a database that could be opened.</summary>
    private static Task<(int Exit, string Output, string Error)> ReplayAsync(string file, params string[] more) => Shell.ContractsWithAsync("rubbish", ["replay", file, .. more]);
}
