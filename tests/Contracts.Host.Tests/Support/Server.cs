using Contracts.Store;
using Contracts.Store.Embedded;
using NodaTime;
using Npgsql;
using Testcontainers.PostgreSql;
using Xunit;

[assembly: AssemblyFixture(typeof(Contracts.Host.Tests.Support.Server))]

namespace Contracts.Host.Tests.Support;

/// <summary>
/// One real PostgreSQL for the whole run: the machine's own binaries through the embedded server, else a container.
/// Each test gets a database of its own.
/// </summary>
public sealed class Server : IAsyncLifetime
{
    public static readonly DateTimeZone Zone = DateTimeZoneProviders.Tzdb["America/New_York"];

    private readonly string folder = Path.Combine(Path.GetTempPath(), $"contracts-tests-{Guid.NewGuid():N}");
    private EmbeddedServer? embedded;
    private PostgreSqlContainer? container;
    private int databases;

    /// <summary>The superuser's connection string.</summary>
    public string Owner { get; private set; } = "";

    public async ValueTask InitializeAsync()
    {
        Directory.CreateDirectory(folder);
        try
        {
            embedded = await EmbeddedServer.StartAsync(folder, _ => { }, CancellationToken.None);
            Owner = embedded.OwnerConnectionString;
        }
        catch (PostgresMissingException)
        {
            container = new PostgreSqlBuilder("postgres:17").Build();
            await container.StartAsync();
            Owner = container.GetConnectionString();
        }
    }

    public async ValueTask DisposeAsync()
    {
        NpgsqlConnection.ClearAllPools();
        if (embedded is not null) { await embedded.StopAsync(); }
        if (container is not null) { await container.DisposeAsync(); }
        Directory.Delete(folder, recursive: true);
        if (Directory.Exists(Shell.Signers)) { Directory.Delete(Shell.Signers, recursive: true); }
    }

    /// <summary>A new database, as the connection string of a role that owns it.</summary>
    public async Task<string> NewDatabaseAsync(string? zone = null)
    {
        var name = $"t{Interlocked.Increment(ref databases)}";
        await RunAsync(Owner, $"create database {name}");
        if (zone is not null) { await RunAsync(Owner, $"alter database {name} set timezone = '{zone}'"); }
        return new NpgsqlConnectionStringBuilder(Owner) { Database = name, Timezone = null }.ConnectionString;
    }

    public async Task<ContractsStore> NewStoreAsync(bool simulated = true) =>
        await ContractsStore.OpenAsync(await NewDatabaseAsync(), new StoreSettings(Zone, simulated));

    public static async Task RunAsync(string connection, string sql)
    {
        await using var source = NpgsqlDataSource.Create(connection);
        await using var command = source.CreateCommand(sql);
        await command.ExecuteNonQueryAsync();
    }
}
