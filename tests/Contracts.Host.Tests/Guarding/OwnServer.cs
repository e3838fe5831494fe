using Contracts.Host.Tests.Support;
using Contracts.Store;
using Contracts.Store.Embedded;
using Npgsql;
using Xunit;

namespace Contracts.Host.Tests.Guarding;

/// <summary>A private server that a test may spoil.</summary>
internal sealed class OwnServer : IAsyncDisposable
{
    private OwnServer(string folder, EmbeddedServer server) => (Folder, Embedded) = (folder, server);

    public string Folder { get; }

    public EmbeddedServer Embedded { get; private set; }

    public string Cluster => Path.Combine(Folder, "postgres", "data");

    public static async Task<OwnServer> StartAsync()
    {
        var folder = Path.Combine(Path.GetTempPath(), $"contracts-own-{Guid.NewGuid():N}");
        Directory.CreateDirectory(folder);
        try
        {
            return new OwnServer(folder, await EmbeddedServer.StartAsync(folder, _ => { }, CancellationToken.None));
        }
        catch (PostgresMissingException missing)
        {
            Assert.Skip(missing.Message);
            throw;
        }
    }

    public async Task<ContractsStore> OpenAsync(StoreConnection? connection = null) =>
        await ContractsStore.OpenAsync(connection ?? Embedded.Connection, new StoreSettings(Server.Zone, true));

    /// <summary>Sets a setting of the whole server and waits until a new session has it.</summary>
    public async Task SetAsync(string setting, string value)
    {
        await Server.RunAsync(Embedded.OwnerConnectionString, $"alter system set {setting} = {value}");
        await Server.RunAsync(Embedded.OwnerConnectionString, "select pg_reload_conf()");
        for (var attempt = 0; attempt < 5000; attempt++)
        {
            var fresh = new NpgsqlConnectionStringBuilder(Embedded.OwnerConnectionString) { Pooling = false }.ConnectionString;
            await using var source = NpgsqlDataSource.Create(fresh);
            await using var command = source.CreateCommand($"show {setting}");
            if ((string?)await command.ExecuteScalarAsync() == value) { return; }
        }

        Assert.Fail($"{setting} never became {value}.");
    }

    /// <summary>Runs one of PostgreSQL's programs as the user the server runs as.</summary>
    public async Task ProgramAsync(string name, params string[] arguments)
    {
        var user = await ServerUser.ForAsync(Cluster, CancellationToken.None);
        var binaries = await PostgresBinaries.FindAsync(null, _ => { }, CancellationToken.None);
        if (!File.Exists(binaries.Program(name))) { Assert.Skip($"{name} does not come with the binaries in {binaries.Folder}."); }
        var done = await Command.RunAsync(binaries.Program(name), arguments, user, null, CancellationToken.None);
        Assert.True(done.Succeeded, done.Output);
    }

    public async Task StopAsync()
    {
        NpgsqlConnection.ClearAllPools();
        await EmbeddedServer.StopAsync(Folder);
    }

    public async Task RestartAsync() => Embedded = await EmbeddedServer.StartAsync(Folder, _ => { }, CancellationToken.None);

    public async ValueTask DisposeAsync()
    {
        await StopAsync();
        Directory.Delete(Folder, recursive: true);
    }
}
