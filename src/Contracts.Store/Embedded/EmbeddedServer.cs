using System.Diagnostics;
using System.Security.Cryptography;
using System.Text;
using Npgsql;

namespace Contracts.Store.Embedded;

/// <summary>
/// A private PostgreSQL under the user's data folder: made on first use, started on demand, reused by the next
/// command, and left running until it is stopped. Checksums and fsync are on.
/// </summary>
public sealed class EmbeddedServer
{
    private const string Role = "contracts";
    private const string Owner = "contracts_owner";
    private static readonly TimeSpan Patience = TimeSpan.FromSeconds(60);

    private readonly Cluster cluster;

    private EmbeddedServer(Cluster cluster) => this.cluster = cluster;

    /// <summary>For the engine: its own role, not a superuser.</summary>
    public string ConnectionString => cluster.Connect(Role, Role);

    /// <summary>For administrators: the cluster's superuser.</summary>
    public string OwnerConnectionString => cluster.Connect(Owner, Role);

    /// <summary>CONTRACTS_DATA, else the user's data folder by the XDG convention.</summary>
    public static string DefaultDataFolder()
    {
        if (Environment.GetEnvironmentVariable("CONTRACTS_DATA") is { Length: > 0 } named) { return named; }
        var data = Environment.GetEnvironmentVariable("XDG_DATA_HOME");
        var home = Environment.GetFolderPath(Environment.SpecialFolder.UserProfile);
        return Path.Combine(string.IsNullOrEmpty(data) ? Path.Combine(home, ".local", "share") : data, "contracts");
    }

    /// <summary>Starts the server of a data folder, or finds it running. Two callers at once get the same server.</summary>
    public static async Task<EmbeddedServer> StartAsync(string dataFolder, Action<string> say, CancellationToken stop)
    {
        var cluster = Cluster.In(dataFolder, say);
        using var alone = await FolderLock.TakeAsync(cluster.Home, Patience, stop).ConfigureAwait(false);
        if (!await cluster.AnswersAsync(Owner, stop).ConfigureAwait(false))
        {
            var binaries = PostgresBinaries.Find(say);
            if (!cluster.IsMade)
            {
                say($"making a private PostgreSQL {binaries.Version} in {cluster.Home}");
                cluster.Make(binaries, Owner);
            }

            await LaunchAsync(cluster, binaries, stop).ConfigureAwait(false);
        }

        await PrepareAsync(cluster, stop).ConfigureAwait(false);
        return new EmbeddedServer(cluster);
    }

    /// <summary>Stops the server of a data folder cleanly; false when it was not running.</summary>
    public static async Task<bool> StopAsync(string dataFolder)
    {
        var cluster = Cluster.In(dataFolder, _ => { });
        if (cluster.Pid is not { } pid) { return false; }
        try
        {
            using var server = Process.GetProcessById(pid);
            if (!server.ProcessName.StartsWith("postgres", StringComparison.Ordinal)) { return false; }
            using var interrupt = Process.Start("kill", ["-INT", pid.ToString(System.Globalization.CultureInfo.InvariantCulture)]);
            await interrupt.WaitForExitAsync().ConfigureAwait(false);
            await server.WaitForExitAsync(new CancellationTokenSource(Patience).Token).ConfigureAwait(false);
            return true;
        }
        catch (ArgumentException)
        {
            return false; // The file outlived the process.
        }
    }

    public Task<bool> StopAsync() => StopAsync(cluster.DataFolder);

    private static async Task LaunchAsync(Cluster cluster, PostgresBinaries binaries, CancellationToken stop)
    {
        var clock = Stopwatch.StartNew();
        Process? server = null;
        while (clock.Elapsed < Patience)
        {
            // A killed server's children may hold its memory a moment longer; then a start fails and is tried again.
            if (server is null || server.HasExited) { server = cluster.Launch(binaries); }
            await Task.Delay(100, stop).ConfigureAwait(false);
            if (await cluster.AnswersAsync(Owner, stop).ConfigureAwait(false)) { return; }
        }

        throw new StoreException($"The embedded PostgreSQL did not start. Its log ends:\n{cluster.LogTail()}");
    }

    private static async Task PrepareAsync(Cluster cluster, CancellationToken stop)
    {
        await using var source = NpgsqlDataSource.Create(cluster.Connect(Owner, "postgres"));
        if (await AskAsync(source, $"select 1 from pg_database where datname = '{Role}'", stop).ConfigureAwait(false) is not null) { return; }
        if (await AskAsync(source, $"select 1 from pg_roles where rolname = '{Role}'", stop).ConfigureAwait(false) is null)
        {
            await AskAsync(source, $"create role {Role} login password '{cluster.Password}'", stop).ConfigureAwait(false);
        }

        await AskAsync(source, $"alter role {Role} set timezone = 'UTC'", stop).ConfigureAwait(false);
        await AskAsync(source, $"create database {Role} owner {Role}", stop).ConfigureAwait(false);
    }

    private static async Task<object?> AskAsync(NpgsqlDataSource source, string sql, CancellationToken stop)
    {
        await using var command = source.CreateCommand(sql);
        return await command.ExecuteScalarAsync(stop).ConfigureAwait(false);
    }
}

/// <summary>Held by one process at a time; the operating system lets go of it when the process dies.</summary>
internal static class FolderLock
{
    public static async Task<FileStream> TakeAsync(string folder, TimeSpan patience, CancellationToken stop)
    {
        var clock = Stopwatch.StartNew();
        while (true)
        {
            try
            {
                return new FileStream(Path.Combine(folder, "start.lock"), FileMode.OpenOrCreate, FileAccess.ReadWrite, FileShare.None);
            }
            catch (IOException) when (clock.Elapsed < patience)
            {
                await Task.Delay(50, stop).ConfigureAwait(false);
            }
        }
    }
}
