using System.Text.Json.Nodes;
using Contracts.Host.Terminal;
using Contracts.Host.Tests.Support;
using Contracts.Store;
using NodaTime;
using Xunit;

namespace Contracts.Host.Tests.Jobs;

/// <summary>The jobs of the day on a real database: once for a day, taken up again where they were cut off, and seen.</summary>
public sealed class JobsTests(Server server) : IDisposable
{
    private static readonly LocalDate Day = new(2026, 10, 9);
    private readonly string folder = Directory.CreateTempSubdirectory("contracts-jobs-").FullName;

    private static CancellationToken Stop => TestContext.Current.CancellationToken;

    public void Dispose() => Directory.Delete(folder, recursive: true);

    [Fact]
    public async Task Simulated_days_bill_remind_make_notices_seal_and_check()
    {
        var database = await server.NewDatabaseAsync();
        var file = Path.Combine(folder, "lines.jsonl");
        await File.WriteAllLinesAsync(
            file, [Lines.Tax, Lines.Sign("C-1", "S-1"), Lines.Sign("C-2", "S-2"), Lines.Pay("C-1", "p", "21.60", "2026-09-02T12:00:00Z")], Stop);
        Assert.Equal(ExitCodes.Done, (await RunAsync(database, "load", file, "--simulated-clock")).Exit);
        var before = (await RunAsync(database, "account", "C-2", "--on", "2026-09-20")).Output;

        var ran = await RunAsync(database, "jobs", "run", "--through", "2026-09-20", "--simulated-clock");
        Assert.True(ran.Exit == ExitCodes.Done, ran.Error);
        // The family of C-2 paid nothing: its late fee is of the 9th, and its notice of that Wednesday.
        var show = JsonNode.Parse((await RunAsync(database, "jobs", "show", "notices", "2026-09-09")).Output)!;
        var task = Assert.Single(show["outcome"]!["tasks"]!.AsArray())!;
        Assert.Equal(
            ("default-notice", "C-2", "late:2026-09-01", "day:default-notice:C-2:late:2026-09-01"),
            ((string)task["kind"]!, (string)task["contract"]!, (string)task["about"]!, (string)task["paper"]!));
        Assert.Contains("day:default-notice:C-2:late:2026-09-01", (await RunAsync(database, "papers", "C-2")).Output, StringComparison.Ordinal);
        Assert.Equal(ExitCodes.Done, (await RunAsync(database, "reissue", "day:default-notice:C-2:late:2026-09-01", "--out", Path.Combine(folder, "again.html"))).Exit);
        Assert.Empty(JsonNode.Parse((await RunAsync(database, "jobs", "show", "check", "2026-09-10")).Output)!["outcome"]!["faults"]!.AsArray());

        Assert.Empty(JsonNode.Parse((await RunAsync(database, "jobs", "show", "watch", "2026-09-20")).Output)!["outcome"]!["breaches"]!.AsArray());

        // The jobs change no figure.
        var after = JsonNode.Parse((await RunAsync(database, "account", "C-2", "--on", "2026-09-20")).Output)!;
        foreach (var name in new[] { "equity", "pastDue", "remainingToOwn", "totalCost", "status" })
        {
            Assert.Equal((string)JsonNode.Parse(before)![name]!, (string)after[name]!);
        }
    }

    [Fact]
    public async Task A_day_that_was_run_is_not_run_again()
    {
        var database = await server.NewDatabaseAsync();
        var first = await RunAsync(database, "jobs", "run", "--format", "json");
        Assert.Equal((ExitCodes.Done, 5), (first.Exit, JsonNode.Parse(first.Output)!.AsArray().Count));
        var again = await RunAsync(database, "jobs", "run", "--format", "json");
        Assert.Equal(first.Output, again.Output);
        Assert.Equal(first.Output, (await RunAsync(database, "jobs", "--format", "json")).Output);
        Assert.Equal(ExitCodes.WrongUsage, (await RunAsync(database, "jobs", "run", "laundry")).Exit);
        Assert.Equal(ExitCodes.WrongUsage, (await RunAsync(database, "jobs", "run", "--through", "2026-12-01")).Exit);
        Assert.Equal(ExitCodes.Refused, (await RunAsync(database, "jobs", "show", "billing", "2020-01-01")).Exit);
    }

    [Fact]
    public async Task A_job_that_fails_says_why_and_is_begun_again()
    {
        await using var store = await server.NewStoreAsync();
        await Assert.ThrowsAsync<StoreException>(() => store.Jobs.RunAsync("billing", Day, (_, _) => throw new StoreException("the disk is full"), Stop));
        var failed = await store.Jobs.FindAsync("billing", Day, Stop);
        Assert.Equal((1, "the disk is full", null), (failed!.Attempts, failed.Fault, failed.EndedAt));

        var (run, now) = await store.Jobs.RunAsync("billing", Day, (_, _) => Task.FromResult("""{"events":3}"""), Stop);
        Assert.Equal((2, null, true), (run.Attempts, run.Fault, now));
        Assert.NotNull(run.EndedAt);
        var third = await store.Jobs.RunAsync("billing", Day, (_, _) => throw new InvalidOperationException("must not run"), Stop);
        Assert.Equal((run, false), third);
    }

    [Fact]
    public async Task Two_who_begin_a_job_at_once_do_it_once()
    {
        await using var store = await server.NewStoreAsync();
        var (entered, finish) = (new TaskCompletionSource(), new TaskCompletionSource());
        var first = store.Jobs.RunAsync(
            "notices", Day,
            async (progress, _) =>
            {
                progress.Report((5, 10));
                entered.SetResult();
                await finish.Task;
                return """{"tasks":[]}""";
            },
            Stop);
        await entered.Task;
        var (seen, now) = await store.Jobs.RunAsync("notices", Day, (_, _) => throw new InvalidOperationException("must not run"), Stop);
        Assert.Equal((false, null), (now, seen.EndedAt));
        // Another job is not held up.
        Assert.True((await store.Jobs.RunAsync("check", Day, (_, _) => Task.FromResult("{}"), Stop)).Now);
        finish.SetResult();
        var (run, done) = await first;
        Assert.Equal((true, 5L, 10L), (done, run.Done, run.Total!.Value));
    }

    [Fact]
    public async Task Work_that_outlives_its_lock_is_told_to_stop_and_waited_for()
    {
        var database = await server.NewDatabaseAsync();
        await using var store = await ContractsStore.OpenAsync(database, new StoreSettings(Server.Zone, true, null, server.Keys));
        var (entered, alone, left) = (new TaskCompletionSource(), new TaskCompletionSource(), false);
        var running = store.Jobs.RunAsync(
            "check", Day,
            async (progress, stop) =>
            {
                entered.SetResult();
                await alone.Task;
                try
                {
                    // Something to tell makes the holder of the lock use its connection, which is gone.
                    progress.Report((1, null));
                    await Task.Delay(Timeout.Infinite, stop);
                    return "{}";
                }
                finally { left = true; }
            },
            Stop);
        await entered.Task;
        Assert.True((await store.Jobs.FindAsync("check", Day, Stop))!.IsHeld);
        await Server.RunAsync(
            database,
            """
            select pg_terminate_backend(pid) from pg_locks where locktype = 'advisory' and pid <> pg_backend_pid()
              and database = (select oid from pg_database where datname = current_database())
            """);
        alone.SetResult();
        await Assert.ThrowsAnyAsync<Exception>(() => running);
        Assert.True(left);
        var cut = await store.Jobs.FindAsync("check", Day, Stop);
        Assert.Equal((false, null, null), (cut!.IsHeld, cut.Fault, cut.EndedAt));
        Assert.True((await store.Jobs.RunAsync("check", Day, (_, _) => Task.FromResult("{}"), Stop)).Now);
    }

    private static Task<(int Exit, string Output, string Error)> RunAsync(string database, params string[] arguments) =>
        Shell.ContractsAsync(database, [("CONTRACTS_SEAL", "later")], arguments);
}
