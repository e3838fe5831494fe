using System.Globalization;
using Contracts.Host.Tests.Support;
using Contracts.Store.Seals;
using Npgsql;
using Xunit;

namespace Contracts.Host.Tests.Seals;

/// <summary>
/// Every change that a superuser can make to a sealed history is found, and the finding names it. How many are tried is
/// CONTRACTS_TAMPERINGS; a failure prints the seed.
/// </summary>
public sealed class TamperTests(Server server, ITestOutputHelper output)
{
    private static readonly int Tries =
        int.TryParse(Environment.GetEnvironmentVariable("CONTRACTS_TAMPERINGS"), CultureInfo.InvariantCulture, out var tries) ? tries : 1000;

    [Fact]
    public async Task Every_change_of_what_is_sealed_is_found_and_named()
    {
        await using var shop = await ShopAsync();
        var signer = await shop.Signer.StateAsync(await shop.Store.Seals.OriginAsync(), mayBegin: false, CancellationToken.None);
        var builder = new NpgsqlDataSourceBuilder(shop.Database + ";Timezone=UTC");
        builder.UseNodaTime();
        await using var typed = builder.Build();
        await using var connection = await typed.OpenConnectionAsync();
        var counts = new SortedDictionary<string, int>(StringComparer.Ordinal);
        var faults = new List<string>();
        var refused = 0;
        for (var seed = 0; seed < Tries + refused && refused < 10 * Tries; seed++)
        {
            await using var transaction = await connection.BeginTransactionAsync();
            await RunAsync(connection, "set local session_replication_role = replica");
            var tampered = await new Tampering(connection, new Random(seed)).DoAsync();
            if (tampered is null)
            {
                // The database has a constraint against it, or there was nothing to change.
                refused++;
                continue;
            }

            var report = new SealAuditReport();
            await SealAudit.RunAsync(connection, signer, report, CancellationToken.None);
            counts[tampered.Kind] = counts.GetValueOrDefault(tampered.Kind) + 1;
            if (report.Findings.Any(tampered.Names)) { continue; }
            faults.Add($"seed {seed}: {tampered.Kind} of {tampered.What}: {string.Join("; ", report.Findings.Take(4))}");
            if (faults.Count > 20) { break; }
        }

        foreach (var (kind, count) in counts) { output.WriteLine($"{count,6:N0} {kind}"); }
        output.WriteLine($"{counts.Values.Sum(),6:N0} changes of {counts.Count} kinds found and named; {refused} more were refused by the database");
        Assert.Empty(faults);
        await shop.CheckCleanAsync();
    }

    [Fact]
    public async Task A_log_that_is_written_anew_over_a_changed_history_is_not_the_one_that_was_signed()
    {
        await using var shop = await ShopAsync();
        var size = await shop.Store.Seals.SizeAsync(TestContext.Current.CancellationToken);
        // Everything in the database follows the lie; only the key is missing.
        await shop.TamperAsync("""
            update contracts.mt_events set data = jsonb_set(data, '{amount}', '"29.00"') where seq_id = (select max(seq_id) from contracts.mt_events where stream_id = 'C-3');
            truncate audit.leaf, audit.node, audit.root, audit.checkpoint, audit.anchor, audit.hole cascade
            """);
        await shop.Store.SealerWith(null).SealAsync(anchor: false, TestContext.Current.CancellationToken);

        var found = (await shop.CheckAsync()).Findings;
        var sealing = await shop.SealAsync();

        Assert.Contains(found, one => one.Kind is "signer-differs" or "log-behind-signer");
        Assert.Contains(sealing.Alarms, alarm => alarm.Kind is "signer-log-forked" or "signer-log-put-back");
        Assert.True(await shop.Store.Seals.SizeAsync(TestContext.Current.CancellationToken) <= size);
    }

    /// <summary>Enough leaves for a stored node, several sealings, an anchor in between, and a number that was passed over.</summary>
    private async Task<SealedShop> ShopAsync()
    {
        var shop = await SealedShop.OpenAsync(server);
        await shop.LiveAsync(6, 9);
        await shop.SealCleanlyAsync();
        await shop.ScalarAsync("select nextval('contracts.mt_events_sequence')");
        for (var day = 0; day < 4; day++)
        {
            await shop.LiveAsync(5, 9, $"D{day}");
            await shop.SealCleanlyAsync(anchor: day == 2);
        }

        await shop.CheckCleanAsync();
        return shop;
    }

    private static async Task RunAsync(NpgsqlConnection connection, string sql)
    {
        await using var command = new NpgsqlCommand(sql, connection);
        await command.ExecuteNonQueryAsync();
    }
}
