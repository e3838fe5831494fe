using System.Globalization;
using System.Text.Json.Nodes;
using Contracts.Agreements;
using Contracts.Books;
using Contracts.Host.Tests.Support;
using Contracts.Seals;
using Contracts.Store;
using Contracts.Store.Seals;
using NodaTime;
using Xunit;

namespace Contracts.Host.Tests.Seals;

/// <summary>Anchors, views of a checkpoint, checks beside writers, and the commands.</summary>
public sealed class AnchorAndKnownTests(Server server, ITestOutputHelper output)
{
    [Fact]
    public async Task A_day_has_one_anchor_and_more_on_demand_when_there_is_news()
    {
        await using var shop = await SealedShop.OpenAsync(server);
        await shop.LiveAsync(1, 1);

        Assert.Equal(AnchorReason.Daily, Assert.Single((await shop.SealCleanlyAsync()).Anchors).Entry.Reason);
        Assert.Empty((await shop.SealCleanlyAsync(anchor: true)).Anchors);
        await shop.LiveAsync(1, 1, "D");
        Assert.Empty((await shop.SealCleanlyAsync()).Anchors);
        var asked = Assert.Single((await shop.SealCleanlyAsync(anchor: true)).Anchors);

        Assert.Equal(AnchorReason.OnDemand, asked.Entry.Reason);
        Assert.Equal(asked.Entry.Size, asked.Index);
        Assert.Equal(asked.Entry.Root, await shop.Store.Seals.RootAsync(asked.Index, TestContext.Current.CancellationToken));
        Assert.Equal(await shop.NumberAsync("select count(*) from contracts.mt_streams"), asked.Entry.HeadCount);
        Assert.Equal(await shop.NumberAsync("select count(*) from contracts.mt_events"), asked.Entry.Events);
        await shop.CheckCleanAsync();
    }

    [Fact]
    public async Task The_close_of_a_month_gets_an_anchor_that_covers_the_close_itself()
    {
        await using var shop = await SealedShop.OpenAsync(server, simulated: true);
        await shop.LiveAsync(2, 1);
        await shop.SealCleanlyAsync();
        var at = Instant.FromUtc(2026, 10, 2, 12, 0);
        var close = new Command.Close(new YearMonth(2026, 9)) { Origin = new CommandOrigin("close:2026-09", null, null) };
        var closed = await shop.Store.MonthClose.CloseAsync(close, Chart.Standard, "Rental programme", at, TestContext.Current.CancellationToken);
        Assert.IsType<CommandResult.Applied>(closed.Outcome);

        var made = Assert.Single((await shop.SealCleanlyAsync()).Anchors);

        Assert.Equal((AnchorReason.MonthEnd, "2026-09"), (made.Entry.Reason, made.Entry.Period));
        var covered = await shop.Store.Seals.EventsAsync("books:periods", made.Entry.Size, TestContext.Current.CancellationToken);
        Assert.Contains(covered, one => one.Entry.Type == "period_closed");
        Assert.Equal(made.Index, (await shop.Store.Seals.AnchorOfMonthAsync("2026-09", TestContext.Current.CancellationToken))!.Index);
        await shop.CheckCleanAsync();
    }

    [Fact]
    public async Task A_view_of_a_checkpoint_never_changes_and_agrees_with_its_moment()
    {
        await using var shop = await SealedShop.OpenAsync(server, simulated: true);
        await shop.LiveAsync(3, 2);
        var head = (await shop.SealCleanlyAsync()).Checkpoint!;
        var stop = TestContext.Current.CancellationToken;
        var bySize = (await shop.Store.Seals.FindAsync($"size:{head.Size}", stop)).Known!.Value;
        var byMoment = await shop.Store.Reader.HistoryAsync("C-2", bySize.At, stop);
        await shop.Store.ApplyAsync(Lines.Pay("C-2", "later", "11.00", "2026-09-03T12:00:00Z"));
        await shop.SealCleanlyAsync();

        var byHex = (await shop.Store.Seals.FindAsync($"root:{head.Root.ToString()[..12]}", stop)).Known!.Value;
        var byBase64 = (await shop.Store.Seals.FindAsync($"root:{head.Root.ToBase64()}", stop)).Known!.Value;
        var sealed1 = await shop.Store.Reader.HistoryAsync("C-2", bySize, stop);
        var all = new List<string>();
        await foreach (var history in shop.Store.Reader.HistoriesAsync(bySize, stop)) { all.Add($"{history.Contract} {history.Entries.Length}"); }

        Assert.Equal((bySize, bySize), (byHex, byBase64));
        Assert.Equal(byMoment!.Entries.Select(entry => entry.Sequence), sealed1!.Entries.Select(entry => entry.Sequence));
        Assert.Contains($"C-2 {sealed1.Entries.Length}", all);
        Assert.NotEqual(sealed1.Entries.Length, (await shop.Store.Reader.HistoryAsync("C-2", Instant.MaxValue, stop))!.Entries.Length);
        foreach (var wrong in new[] { $"size:{head.Size + 1000}", "size:0", "size:x", "root:0000000000", "root:abc", $"root:{new string('!', 9)}" })
        {
            Assert.Null((await shop.Store.Seals.FindAsync(wrong, stop)).Known);
        }
    }

    [Fact]
    public async Task Clean_checks_beside_writers_and_a_sealer_raise_no_alarm()
    {
        var tries = int.TryParse(Environment.GetEnvironmentVariable("CONTRACTS_CLEAN_CHECKS"), CultureInfo.InvariantCulture, out var given) ? given : 40;
        await using var shop = await SealedShop.OpenAsync(server);
        using var ending = new CancellationTokenSource();
        var round = 0;
        var writers = Enumerable.Range(0, 4).Select(_ => Task.Run(async () =>
        {
            while (!ending.IsCancellationRequested && Volatile.Read(ref round) < 400) { await shop.LiveAsync(1, 3, $"R{Interlocked.Increment(ref round)}"); }
        })).ToArray();
        var sealer = Task.Run(async () =>
        {
            while (!ending.IsCancellationRequested) { await shop.SealCleanlyAsync(); }
        });
        for (var check = 0; check < tries; check++) { Assert.Empty((await shop.CheckAsync()).Findings); }
        await ending.CancelAsync();
        await Task.WhenAll([.. writers, sealer]);
        output.WriteLine($"{tries} checks beside 4 writers and a sealer: no alarm; {await shop.NumberAsync("select count(*) from audit.leaf")} leaves at the end");
        await shop.SealCleanlyAsync();
        await shop.CheckCleanAsync();
    }

    [Fact]
    public async Task A_command_line_run_leaves_everything_sealed_and_check_names_what_is_altered()
    {
        var database = await server.NewDatabaseAsync();
        var file = Path.GetTempFileName();
        await File.WriteAllLinesAsync(file, [Lines.Tax, Lines.Sign("C-1", "S-1"), Lines.Pay("C-1", "P-1", "20.00", "2026-09-02T12:00:00Z")], TestContext.Current.CancellationToken);
        try
        {
            Assert.Equal(0, (await Shell.ContractsAsync(database, "load", file, "--simulated-clock")).Exit);
            var clean = await Shell.ContractsAsync(database, "check");
            var head = JsonNode.Parse((await Shell.ContractsAsync(database, "seal")).Output)!;
            var size = (int)head["checkpoint"]!["size"]!;
            foreach (var command in (string[][])[["portfolio"], ["totals", "C-1"], ["papers", "C-1"]])
            {
                // Two leaves: the tax and the signing, before the payment.
                var before = await Shell.ContractsAsync(database, [.. command, "--known", "size:2", "--format", "json"]);
                var late = await Shell.ContractsAsync(database, [.. command, "--known", $"size:{size}", "--format", "json"]);
                var none = await Shell.ContractsAsync(database, [.. command, "--known", "size:9999", "--format", "json"]);
                Assert.Equal((0, 0, 1), (before.Exit, late.Exit, none.Exit));
                Assert.Equal("checkpoint-unknown", (string)JsonNode.Parse(none.Error)!["code"]!);
                if (command[0] == "papers") { continue; }
                var nothingPaid = command[0] == "portfolio" ? "\"paid\":{\"total\":\"0.00\"" : "\"figure\":\"paid.total\",\"amount\":\"0.00\"";
                Assert.Contains(nothingPaid, before.Output, StringComparison.Ordinal);
                Assert.DoesNotContain(nothingPaid, late.Output, StringComparison.Ordinal);
            }

            await Server.RunAsync(database, "update contracts.mt_events set data = jsonb_set(data, '{amount}', '\"19.00\"') where type = 'payment_received'");
            var tampered = await Shell.ContractsAsync(database, "check");
            var known = await Shell.ContractsAsync(database, "account", "C-1", "--on", "2026-09-02", "--known", $"size:{size}");
            var early = await Shell.ContractsAsync(database, "history", "C-1", "--known", "size:1");
            var unknown = await Shell.ContractsAsync(database, "account", "C-1", "--known", "size:9999", "--format", "json");

            Assert.Equal((0, 0), (clean.Exit, (int)JsonNode.Parse(clean.Output)!["checked"]!["events that wait for their seal"]!));
            Assert.Equal(3, tampered.Exit);
            var fault = JsonNode.Parse(tampered.Output)!["faults"]!.AsArray().Single(one => (string)one!["kind"]! == "event-altered")!;
            Assert.Equal(("C-1", 2, "data"), ((string)fault["stream"]!, (int)fault["version"]!, (string)fault["field"]!));
            Assert.Equal((0, 1), (known.Exit, early.Exit));
            Assert.Equal("checkpoint-unknown", (string)JsonNode.Parse(unknown.Error)!["code"]!);
            Assert.Equal(1, unknown.Exit);
        }
        finally
        {
            File.Delete(file);
        }
    }
}
