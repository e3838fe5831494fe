using System.Globalization;
using Contracts.Host.Tests.Support;
using Contracts.Store;
using Contracts.Store.Seals;
using Npgsql;
using Xunit;

namespace Contracts.Host.Tests.Seals;

/// <summary>A shop with a store, a signer in a folder of its own, and contracts with payments.</summary>
internal sealed class SealedShop : IAsyncDisposable
{
    private readonly string folder = Path.Combine(Path.GetTempPath(), $"contracts-signer-{Guid.NewGuid():N}");
    private int keys;

    private SealedShop(string database) => (Database, Signer) = (database, new FolderSigner(folder));

    public string Database { get; }

    public ContractsStore Store { get; private set; } = null!;

    public FolderSigner Signer { get; }

    /// <summary>The folder that holds the signers' folders.</summary>
    public string SignerFolder => folder;

    public static async Task<SealedShop> OpenAsync(Server server, bool simulated = false, Contracts.Papers.Press? press = null)
    {
        var database = await server.NewDatabaseAsync();
        var shop = new SealedShop(database);
        var keys = press is null ? null : new Contracts.Store.Vault.HouseholdKeys(Path.Combine(shop.folder, "keys"));
        shop.Store = await ContractsStore.OpenAsync(database, new StoreSettings(Server.Zone, simulated, press, keys));
        await shop.Store.ApplyAsync(Lines.Tax);
        return shop;
    }

    /// <summary>Signs contracts and takes payments on each.</summary>
    public async Task LiveAsync(int contracts, int payments, string name = "C")
    {
        var lines = new List<string>();
        for (var contract = 1; contract <= contracts; contract++)
        {
            var id = $"{name}-{contract}";
            lines.Add(Lines.Sign(id, $"{name}-serial-{contract}"));
            for (var payment = 0; payment < payments; payment++)
            {
                lines.Add(Lines.Pay(id, $"{name}-pay-{Interlocked.Increment(ref keys)}", $"{20 + payment}.00", "2026-09-01T12:00:00Z"));
            }
        }

        var results = await Store.ApplyAsync([.. lines]);
        Assert.All(results, result => Assert.IsType<CommandResult.Applied>(result));
    }

    public Task<SealReport> SealAsync(bool anchor = false) => Store.SealerWith(Signer).SealAsync(anchor);

    /// <summary>Seals where nothing may be in the way.</summary>
    public async Task<SealReport> SealCleanlyAsync(bool anchor = false)
    {
        var report = await SealAsync(anchor);
        Assert.Empty(report.Alarms);
        return report;
    }

    public Task<SealAuditReport> CheckAsync() => Store.SealAudit.RunAsync(Signer);

    public async Task CheckCleanAsync() => Assert.Empty((await CheckAsync()).Findings);

    public async Task<long> NumberAsync(string sql) => Convert.ToInt64(await ScalarAsync(sql), CultureInfo.InvariantCulture);

    public async Task<object?> ScalarAsync(string sql)
    {
        await using var source = NpgsqlDataSource.Create(Database);
        await using var command = source.CreateCommand(sql);
        return await command.ExecuteScalarAsync();
    }

    /// <summary>Runs statements as the superuser with every trigger switched off, as a person with the database in hand can.</summary>
    public Task TamperAsync(string sql) => Server.RunAsync(Database, $"set session_replication_role = replica; {sql}");

    public async ValueTask DisposeAsync()
    {
        await Store.DisposeAsync();
        if (Directory.Exists(folder)) { Directory.Delete(folder, recursive: true); }
    }
}
