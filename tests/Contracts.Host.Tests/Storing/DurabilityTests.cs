using System.Diagnostics;
using System.Globalization;
using Contracts.Host.Tests.Support;
using Contracts.Store;
using Contracts.Store.Embedded;
using NodaTime;
using Npgsql;
using Xunit;
using CommandResult = Contracts.Store.CommandResult;

namespace Contracts.Host.Tests.Storing;

/// <summary>The server is killed in the middle of writing: what was acknowledged is there, once, and nothing else is.</summary>
public sealed class DurabilityTests
{
    [Fact]
    public async Task What_was_acknowledged_survives_a_kill_and_a_retry_counts_once()
    {
        if (OperatingSystem.IsWindows()) { Assert.Skip("Kills a Unix process."); }
        var folder = Path.Combine(Path.GetTempPath(), $"contracts-kill-{Guid.NewGuid():N}");
        Directory.CreateDirectory(folder);
        try
        {
            var acknowledged = await WriteUntilKilledAsync(folder);
            var server = await EmbeddedServer.StartAsync(folder, _ => { }, CancellationToken.None);
            await using var store = await ContractsStore.OpenAsync(server.ConnectionString, new StoreSettings(Server.Zone, true));
            var history = await store.Reader.HistoryAsync("C-1", Instant.MaxValue);
            var keys = history!.Entries.Select(entry => entry.Key).ToList();
            Assert.Equal(keys.Count, keys.Distinct().Count());
            Assert.Subset(keys.ToHashSet(), acknowledged.ToHashSet());
            // At most the one command whose answer never came is there beside the acknowledged ones and the signing.
            Assert.InRange(keys.Count, acknowledged.Count + 1, acknowledged.Count + 2);
            var again = await store.ApplyAsync(Payment(acknowledged.Count));
            Assert.True(again[0] is CommandResult.Applied or CommandResult.Already);
            var total = (await store.Reader.HistoryAsync("C-1", Instant.MaxValue))!.Entries.Length;
            Assert.Equal(acknowledged.Count + 2, total);
            Assert.Empty((await store.BookAudit.RunAsync(await store.Reader.NowAsync())).Differences);
        }
        finally
        {
            NpgsqlConnection.ClearAllPools();
            await EmbeddedServer.StopAsync(folder);
            Directory.Delete(folder, recursive: true);
        }
    }

    private static async Task<List<string>> WriteUntilKilledAsync(string folder)
    {
        var server = await EmbeddedServer.StartAsync(folder, _ => { }, CancellationToken.None);
        await using var store = await ContractsStore.OpenAsync(server.ConnectionString, new StoreSettings(Server.Zone, true));
        await store.ApplyAsync(Lines.Tax, Lines.Sign("C-1", "S-1"));
        var acknowledged = new List<string>();
        try
        {
            for (var payment = 0; payment < 10_000; payment++)
            {
                await store.ApplyAsync(Payment(payment));
                acknowledged.Add($"p{payment}");
                if (payment == 40) { _ = Task.Run(() => Kill(folder)); }
            }

            Assert.Fail("The server was never killed.");
        }
        catch (StoreException)
        {
            // The answer to the last command is unknown, as it would be for a till.
        }

        return acknowledged;
    }

    private static string Payment(int number) => Lines.Pay("C-1", $"p{number}", "0.01", "2026-09-02T12:00:00Z");

    private static void Kill(string folder)
    {
        var pid = File.ReadLines(Path.Combine(folder, "postgres", "data", "postmaster.pid")).First();
        using var server = Process.GetProcessById(int.Parse(pid, CultureInfo.InvariantCulture));
        server.Kill();
    }
}
