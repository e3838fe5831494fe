using System.Collections.Concurrent;
using Contracts.Host.Serving;
using Contracts.Store;
using Contracts.Store.Embedded;
using Contracts.Store.Setup;
using Contracts.Store.Vault;
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

    // No secret: the container lives for one run and listens on this machine only.
    private const string ContainerPassword = "invented";

    /// <summary>The database that others are copies of: making tables takes longer than all else that most tests do.</summary>
    private const string Template = "set_up";

    /// <summary>What a store draws once for itself, and two may not share.</summary>
    private const string OwnName = """
        set session_replication_role = replica;
        update audit.log set origin = 'contracts/' || replace(gen_random_uuid()::text, '-', '');
        """;

    private static readonly ConcurrentDictionary<string, Lazy<Task>> SetUp = new(StringComparer.Ordinal);
    private static Server? running;

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
            container = new PostgreSqlBuilder("postgres:17").WithEnvironment("POSTGRES_INITDB_ARGS", "--data-checksums").Build();
            await container.StartAsync();
            Owner = container.GetConnectionString();
            await RunAsync(Owner, PrivilegeSql.Roles);
            foreach (var role in DatabaseRoles.All) { await RunAsync(Owner, $"alter role {role} password '{ContainerPassword}'"); }
        }

        await RunAsync(Owner, $"create database {Template}");
        await StoreSetup.RunAsync(In(Template), alone: false);
        await MessageTables.MakeAsync(In(Template), CancellationToken.None);
        // With hundreds of databases a worker that looks whether one of them wants vacuuming would start several times a second.
        await RunAsync(Owner, "alter system set autovacuum = off");
        // A copied database is written into the log whole, and packing it takes longer than writing it.
        await RunAsync(Owner, "alter system set wal_compression = off");
        await RunAsync(Owner, "select pg_reload_conf()");
        running = this;
    }

    public async ValueTask DisposeAsync()
    {
        NpgsqlConnection.ClearAllPools();
        if (embedded is not null) { await embedded.StopAsync(); }
        if (container is not null) { await container.DisposeAsync(); }
        Directory.Delete(folder, recursive: true);
        if (Directory.Exists(Shell.Signers)) { Directory.Delete(Shell.Signers, recursive: true); }
    }

    /// <summary>Keys of households for one store: two stores may have the same references, and must never meet each other's keys.</summary>
    public HouseholdKeys Keys => new(Path.Combine(folder, "household-keys", Guid.NewGuid().ToString("N")));

    /// <summary>A new database with an empty store in it, as the connection string of a role that owns it.</summary>
    public async Task<string> NewDatabaseAsync()
    {
        var database = await CreateAsync($"template {Template}");
        await RunAsync(database, OwnName);
        return database;
    }

    /// <summary>A new database in which nobody has set up anything, for tests of who does.</summary>
    /// <param name="zone">The time zone of its sessions.</param>
    public async Task<string> NewBareDatabaseAsync(string? zone = null)
    {
        var database = await CreateAsync("");
        if (zone is not null) { await RunAsync(Owner, $"alter database {new NpgsqlConnectionStringBuilder(database).Database} set timezone = '{zone}'"); }
        return database;
    }

    private async Task<string> CreateAsync(string like)
    {
        var name = $"t{Interlocked.Increment(ref databases)}";
        await RunAsync(Owner, $"create database {name} {like}");
        return In(name);
    }

    private string In(string database) => new NpgsqlConnectionStringBuilder(Owner) { Database = database, Timezone = null }.ConnectionString;

    public async Task<ContractsStore> NewStoreAsync(bool simulated = true) =>
        await ContractsStore.OpenAsync(await NewDatabaseAsync(), new StoreSettings(Zone, simulated, null, Keys));

    /// <summary>A new database, set up by its owner, as the role of everyday work finds it.</summary>
    public async Task<StoreConnection> NewGuardedAsync()
    {
        var owner = await NewDatabaseAsync();
        return new StoreConnection(await AsAppAsync(owner), owner) { Personal = As(DatabaseRoles.Personal, owner), Sealer = As(DatabaseRoles.Sealer, owner) };
    }

    /// <summary>Another role's way into a database.</summary>
    public string As(string role, string database)
    {
        var name = new NpgsqlConnectionStringBuilder(database).Database;
        var text = new NpgsqlConnectionStringBuilder(embedded?.ConnectionStringOf(role) ?? Owner) { Database = name, Timezone = null };
        if (embedded is null) { (text.Username, text.Password) = (role, ContainerPassword); }
        return text.ConnectionString;
    }

    /// <summary>
    /// An owner's database for the role of everyday work, set up where it was not; anything else as it is. The executable is tried
    /// like this, so that every command is seen to need no more than the role may do.
    /// </summary>
    public static async Task<string> AsAppAsync(string database)
    {
        if (running is null || !IsOwners(database)) { return database; }
        await SetUp.GetOrAdd(database, new Lazy<Task>(() => StoreSetup.RunAsync(database, alone: true))).Value;
        return running.As(DatabaseRoles.App, database);
    }

    /// <summary>What the executable is told of the vault beside a database of this server.</summary>
    public static (string Name, string Value)[] VaultOf(string connection)
    {
        if (running is null || !connection.StartsWith("Host=", StringComparison.Ordinal)) { return []; }
        return [("CONTRACTS_VAULT", running.As(DatabaseRoles.Personal, connection)), ("CONTRACTS_SEALER", running.As(DatabaseRoles.Sealer, connection)), ("CONTRACTS_KEYS", Path.Combine(running.folder, "household-keys", new NpgsqlConnectionStringBuilder(connection).Database ?? ""))];
    }

    private static bool IsOwners(string database) => database.StartsWith("Host=", StringComparison.Ordinal)
        && new NpgsqlConnectionStringBuilder(database) is var given && new NpgsqlConnectionStringBuilder(running!.Owner) is var owner
        && (given.Host, given.Port, given.Username) == (owner.Host, owner.Port, owner.Username);

    public static async Task RunAsync(string connection, string sql)
    {
        // Without a pool: a database that is copied may have no connections.
        await using var source = NpgsqlDataSource.Create(new NpgsqlConnectionStringBuilder(connection) { Pooling = false });
        await using var command = source.CreateCommand(sql);
        await command.ExecuteNonQueryAsync();
    }
}
