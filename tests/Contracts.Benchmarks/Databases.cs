using Contracts.Host.Counter;
using Contracts.Host.Papers;
using Contracts.Host.Running;
using Contracts.Host.Terminal;
using Contracts.Store;
using Contracts.Store.Embedded;
using NodaTime;
using Npgsql;

namespace Contracts.Benchmarks;

/// <summary>A store of the benchmark and the way around it, straight to its tables.</summary>
internal sealed record BenchStore(ContractsStore Store, NpgsqlDataSource Source, string Name) : IAsyncDisposable
{
    public async ValueTask DisposeAsync()
    {
        await Store.DisposeAsync();
        await Source.DisposeAsync();
    }

    public async Task ExecuteAsync(string sql)
    {
        await using var command = Source.CreateCommand(sql);
        command.CommandTimeout = 0;
        await command.ExecuteNonQueryAsync();
    }

    public async Task<T> ReadAsync<T>(string sql)
    {
        await using var command = Source.CreateCommand(sql);
        command.CommandTimeout = 0;
        return (T)(await command.ExecuteScalarAsync())!;
    }
}

/// <summary>Makes databases on the benchmark's server, one for each side of a comparison.</summary>
internal sealed class Databases(EmbeddedServer server)
{
    public static readonly DateTimeZone Zone = DateTimeZoneProviders.Tzdb["America/New_York"];

    private int made;

    /// <summary>Makes one.</summary>
    /// <param name="simulatedClock">Whether commands say when they were given.</param>
    /// <param name="asOwner">Whether all is done as the superuser: Marten's own bulk append keeps tables that our everyday role may not touch.</param>
    public async Task<BenchStore> NewAsync(bool simulatedClock = true, bool asOwner = false)
    {
        var name = $"bench{++made}";
        await RunAsync($"create database {name}");
        var connection = server.Connection.In(name);
        // The other side of a comparison makes tables of its own, so it works as the superuser.
        var builder = new NpgsqlDataSourceBuilder(connection.Owner + ";Command Timeout=0");
        builder.UseNodaTime();
        var ours = asOwner ? connection with { Everyday = connection.Owner! } : connection;
        return new BenchStore(await ContractsStore.OpenAsync(ours, new StoreSettings(Zone, simulatedClock, PaperPress.Print)), builder.Build(), name);
    }

    /// <summary>Gives the room of a large portfolio back before the next one is made.</summary>
    public async Task DropAsync(BenchStore store)
    {
        await store.DisposeAsync();
        await RunAsync($"drop database {store.Name} with (force)");
    }

    /// <summary>What every measurement begins with: nothing of the work before it is still to be written.</summary>
    public Task CheckpointAsync() => RunAsync("checkpoint");

    public static async Task<LoadSummary> LoadFileAsync(ContractsStore store, string file)
    {
        await using var bus = await CommandBus.StartAsync(store, CancellationToken.None);
        var loader = new FileLoader(bus, stopOnRefusal: false, Progress.ToStandardError());
        await loader.LoadAsync(file, CancellationToken.None);
        return loader.Summary;
    }

    private async Task RunAsync(string sql)
    {
        await using var source = NpgsqlDataSource.Create(server.OwnerConnectionString);
        await using var command = source.CreateCommand(sql);
        await command.ExecuteNonQueryAsync();
    }
}
