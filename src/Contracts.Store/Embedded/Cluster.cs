using System.Diagnostics;
using System.Globalization;
using System.Net;
using System.Net.Sockets;
using System.Security.Cryptography;
using System.Text;
using Npgsql;

namespace Contracts.Store.Embedded;

/// <summary>The files of one private cluster: where they are, how they are made, how one connects.</summary>
internal sealed class Cluster
{
    private readonly string sockets;

    private Cluster(string dataFolder, string home)
    {
        DataFolder = dataFolder;
        Home = home;
        // A socket's path must be short, and a data folder's may be long.
        sockets = Path.Combine(Path.GetTempPath(), $"contracts-{Digest(home)}");
    }

    /// <summary>The folder the caller named.</summary>
    public string DataFolder { get; }

    /// <summary>The folder that holds the cluster; elsewhere than the named one when the server's user cannot reach that.</summary>
    public string Home { get; }

    public string Password => File.ReadAllText(PasswordFile).Trim();

    public bool IsMade => File.Exists(Path.Combine(Data, "PG_VERSION")) && File.Exists(Path.Combine(Home, "made"));

    public int? Pid
    {
        get
        {
            var file = Path.Combine(Data, "postmaster.pid");
            if (!File.Exists(file)) { return null; }
            var first = File.ReadLines(file).FirstOrDefault();
            return int.TryParse(first, CultureInfo.InvariantCulture, out var pid) ? pid : null;
        }
    }

    private string Data => Path.Combine(Home, "cluster");

    private string PasswordFile => Path.Combine(Home, "password");

    private string Log => Path.Combine(Data, "server.log");

    public static Cluster In(string dataFolder, Action<string> say)
    {
        var named = Path.GetFullPath(dataFolder);
        var home = named;
        if (!ServerUser.CanReach(Path.Combine(named, "cluster")))
        {
            home = $"/var/lib/contracts-{Digest(named)}";
            if (!Directory.Exists(home)) { say($"PostgreSQL cannot run as root, and {named} is closed to other users: the database goes to {home}"); }
        }

        Directory.CreateDirectory(home);
        return new Cluster(named, home);
    }

    public void Make(PostgresBinaries binaries, string owner)
    {
        if (Directory.Exists(Data)) { Directory.Delete(Data, recursive: true); }
        File.WriteAllText(PasswordFile, Convert.ToHexStringLower(RandomNumberGenerator.GetBytes(24)));
        if (!OperatingSystem.IsWindows()) { File.SetUnixFileMode(PasswordFile, UnixFileMode.UserRead | UnixFileMode.UserWrite); }
        ServerUser.MakeFolder(Data);
        // initdb reads the superuser's password from a file of its own user's.
        var handed = Path.Combine(Data, "..", "handed");
        ServerUser.MakeFolder(handed);
        var file = Path.Combine(handed, "password");
        File.WriteAllText(file, Password);
        if (!OperatingSystem.IsWindows()) { File.SetUnixFileMode(file, UnixFileMode.UserRead | UnixFileMode.OtherRead); }
        try
        {
            Run(binaries.Of("initdb"),
            [
                "-D", Data, "-U", owner, "--pwfile", Path.GetFullPath(file), "--auth=scram-sha-256", "--data-checksums",
                "--encoding=UTF8", "--locale=C",
            ]);
        }
        finally
        {
            Directory.Delete(handed, recursive: true);
        }

        File.WriteAllText(Path.Combine(Home, "made"), binaries.Version.ToString(CultureInfo.InvariantCulture));
    }

    /// <summary>Starts the server apart from this process: it holds none of our pipes and outlives us.</summary>
    public Process Launch(PostgresBinaries binaries)
    {
        var listen = UsesSocket ? "-c listen_addresses=''" : $"-c listen_addresses=127.0.0.1 -p {TakePort()}";
        if (UsesSocket) { ServerUser.MakeFolder(sockets); }
        string[] settings =
        [
            "shared_buffers=512MB", "max_wal_size=4GB", "checkpoint_timeout=15min", "wal_compression=on", "max_connections=120",
            "timezone=UTC", "log_timezone=UTC", "fsync=on", "synchronous_commit=on",
        ];
        var options = string.Join(' ', settings.Select(setting => $"-c {setting}"));
        var place = UsesSocket ? $"-k {sockets}" : "";
        var start = ServerUser.As(
            binaries.Of("pg_ctl"), ["start", "-W", "-s", "-D", Data, "-l", Log, "-o", $"{listen} {place} {options}"]);
        start.RedirectStandardOutput = start.RedirectStandardError = start.RedirectStandardInput = true;
        return Process.Start(start) ?? throw new StoreException("pg_ctl did not start.");
    }

    public string Connect(string role, string database) => new NpgsqlConnectionStringBuilder
    {
        Host = UsesSocket ? sockets : "127.0.0.1",
        Port = UsesSocket ? 5432 : int.Parse(File.ReadAllText(PortFile), CultureInfo.InvariantCulture),
        Username = role,
        Password = Password,
        Database = database,
        Timezone = "UTC",
    }.ConnectionString;

    public async Task<bool> AnswersAsync(string owner, CancellationToken stop)
    {
        if (!IsMade || (!UsesSocket && !File.Exists(PortFile))) { return false; }
        try
        {
            await using var source = NpgsqlDataSource.Create(Connect(owner, "postgres") + ";Timeout=5;Pooling=false");
            await using var connection = await source.OpenConnectionAsync(stop).ConfigureAwait(false);
            return true;
        }
        catch (NpgsqlException)
        {
            return false;
        }
    }

    public string LogTail() => File.Exists(Log) ? string.Join('\n', File.ReadLines(Log).TakeLast(12)) : "(there is no log)";

    private static bool UsesSocket => !OperatingSystem.IsWindows();

    private string PortFile => Path.Combine(Home, "port");

    private int TakePort()
    {
        using var listener = new TcpListener(IPAddress.Loopback, 0);
        listener.Start();
        var port = ((IPEndPoint)listener.LocalEndpoint).Port;
        File.WriteAllText(PortFile, port.ToString(CultureInfo.InvariantCulture));
        return port;
    }

    private static void Run(string program, IEnumerable<string> arguments)
    {
        var start = ServerUser.As(program, arguments);
        start.RedirectStandardError = start.RedirectStandardOutput = true;
        using var running = Process.Start(start) ?? throw new StoreException($"{program} did not start.");
        running.OutputDataReceived += (_, _) => { };
        running.BeginOutputReadLine();
        var words = running.StandardError.ReadToEnd();
        running.WaitForExit();
        if (running.ExitCode != 0) { throw new StoreException($"{Path.GetFileName(program)} failed: {words.Trim()}"); }
    }

    private static string Digest(string text) =>
        Convert.ToHexStringLower(SHA256.HashData(Encoding.UTF8.GetBytes(text)))[..12];
}
