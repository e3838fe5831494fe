using System.Globalization;
using System.Net;
using System.Net.Sockets;
using System.Security.Cryptography;

namespace Contracts.Store.Embedded;

/// <summary>Makes the files of a private server, and its settings.</summary>
internal sealed class Cluster(ServerHome home, ServerUser user, PostgresBinaries binaries)
{
    public const string Superuser = "postgres";

    public async Task CreateIfMissingAsync(Action<string> say, CancellationToken cancellation)
    {
        if (home.HasCluster)
        {
            return;
        }
        say($"Making a private PostgreSQL {binaries.Major} database in {home.Folder}.");
        await MakeServerFolderAsync(cancellation).ConfigureAwait(false);
        await WritePasswordAsync(home.SuperuserPassword, cancellation).ConfigureAwait(false);
        // Made aside and moved in one step: a command that is killed here leaves no half a cluster.
        // Each time under another name, because initdb may outlive the command that started it.
        DeleteLeftovers();
        var aside = $"{home.Cluster}.new-{Guid.NewGuid():N}";
        var made = await Command
            .RunAsync(binaries.Program("initdb"), Arguments(aside), user, null, cancellation)
            .ConfigureAwait(false);
        if (!made.Succeeded)
        {
            throw new EmbeddedServerException($"PostgreSQL could not make its data folder {home.Cluster}: {made.Output}");
        }
        await user.WriteAsync(Path.Combine(aside, "contracts.conf"), "", cancellation).ConfigureAwait(false);
        var main = Path.Combine(aside, "postgresql.conf");
        var shipped = await File.ReadAllTextAsync(main, cancellation).ConfigureAwait(false);
        await user.WriteAsync(main, shipped + "\ninclude 'contracts.conf'\n", cancellation).ConfigureAwait(false);
        Directory.Move(aside, home.Cluster);
    }

    /// <summary>Makes up a password for each role that has none.</summary>
    public async Task WritePasswordsAsync(CancellationToken cancellation)
    {
        foreach (var (_, file) in home.RolePasswords.Where(pair => !File.Exists(pair.File)))
        {
            await WritePasswordAsync(file, cancellation).ConfigureAwait(false);
        }
    }

    /// <summary>Writes the settings anew, because the way to connect may change from start to start.</summary>
    public async Task ConfigureAsync(CancellationToken cancellation)
    {
        var sockets = !OperatingSystem.IsWindows()
            && await user.MakeSocketFolderAsync(home.SocketFolder, cancellation).ConfigureAwait(false);
        // In a folder of its own a socket needs no number of its own.
        var port = sockets ? 5432 : FreePort();
        var reach = sockets
            ? $"listen_addresses = ''\nunix_socket_directories = '{home.SocketFolder}'\n"
            : "listen_addresses = '127.0.0.1'\nunix_socket_directories = ''\n";
        var text = string.Create(CultureInfo.InvariantCulture, $"# Written anew at every start.\n{reach}port = {port}\n{Settings}");
        await user.WriteAsync(Path.Combine(home.Cluster, "contracts.conf"), text, cancellation).ConfigureAwait(false);
    }

    // fsync and full_page_writes keep their defaults: what was acknowledged survives a power cut.
    private const string Settings = """
        max_connections = 100
        shared_buffers = 256MB
        max_wal_size = 2GB
        checkpoint_timeout = 15min
        wal_compression = on
        synchronous_commit = on
        timezone = 'UTC'
        log_timezone = 'UTC'
        log_line_prefix = '%m [%p] '
        log_checkpoints = off

        """;

    private string[] Arguments(string folder) =>
        [
            "--pgdata=" + folder,
            "--username=" + Superuser,
            "--pwfile=" + home.SuperuserPassword,
            // Root and the server's user both reach the socket, so the system's user names tell nothing.
            "--auth=scram-sha-256",
            "--data-checksums",
            "--encoding=UTF8",
            // Texts sort alike on every machine, now and after an update of its libraries.
            "--locale=C",
        ];

    private Task WritePasswordAsync(string file, CancellationToken cancellation) =>
        user.WriteAsync(file, RandomNumberGenerator.GetHexString(48, lowercase: true), cancellation);

    private async Task MakeServerFolderAsync(CancellationToken cancellation)
    {
        if (user.Name is not null && !Directory.Exists(home.Server))
        {
            Directory.CreateDirectory(home.Server);
            var given = await Command
                .RunAsync("/usr/bin/env", ["chown", "-h", user.Name, home.Server], null, null, cancellation)
                .ConfigureAwait(false);
            if (!given.Succeeded)
            {
                throw new EmbeddedServerException($"Could not give {home.Server} to the user {user.Name}: {given.Output}");
            }
        }
        if (!await user.MakePrivateFolderAsync(home.Server, cancellation).ConfigureAwait(false))
        {
            throw new EmbeddedServerException($"The folder {home.Server} cannot be made or belongs to another user.");
        }
    }

    private void DeleteLeftovers()
    {
        foreach (var folder in Directory.EnumerateDirectories(home.Server, "data.new-*").ToList())
        {
            try
            {
                Directory.Delete(folder, recursive: true);
            }
            catch (IOException)
            {
                // An initdb left alone is still writing there; it is in nobody's way.
            }
        }
    }

    private static int FreePort()
    {
        using var listener = new TcpListener(IPAddress.Loopback, 0);
        listener.Start();
        return ((IPEndPoint)listener.LocalEndpoint).Port;
    }
}
