using System.Diagnostics;
using Npgsql;

namespace Contracts.Store.Embedded;

/// <summary>
/// A private PostgreSQL for people who have set up none: made and started on demand, shared
/// by all commands that name the same data folder, and left running when they end.
/// </summary>
public sealed class EmbeddedServer
{
    private static readonly TimeSpan AnswerPatience = TimeSpan.FromSeconds(30);

    private readonly string dataFolderGiven;
    private readonly Access reached;

    private EmbeddedServer(string dataFolder, Access access)
    {
        dataFolderGiven = dataFolder;
        reached = access;
    }

    /// <summary>For all everyday work: the role that can add history and not change it.</summary>
    public string ConnectionString => reached.Role;

    /// <summary>What a store is opened with: everyday work as its role, and setting up as the superuser.</summary>
    public StoreConnection Connection => new(ConnectionString, OwnerConnectionString)
    {
        Sealer = reached.Roles[DatabaseRoles.Sealer],
        Personal = reached.Roles[DatabaseRoles.Personal],
    };

    /// <summary>The connection string of one of <see cref="DatabaseRoles"/> that logs in.</summary>
    public string ConnectionStringOf(string role) => reached.Roles[role];

    /// <summary>For set-up only: the superuser of the private server, in the same database.</summary>
    public string OwnerConnectionString => reached.Superuser;

    /// <summary>
    /// The data folder when the caller names none: CONTRACTS_DATA, else the folder
    /// <c>contracts</c> where the system keeps a user's data.
    /// </summary>
    public static string DefaultDataFolder() => ServerHome.DefaultDataFolder();

    /// <summary>Connects to the server of a data folder; makes and starts it first where needed.</summary>
    /// <param name="dataFolder">Where the server keeps its data; see <see cref="DefaultDataFolder"/>.</param>
    /// <param name="say">Told what takes time or goes to an unexpected place; silent when the server runs already.</param>
    /// <param name="cancellation">Ends the wait. A server that is just starting may run on.</param>
    /// <exception cref="PostgresMissingException">There is no PostgreSQL here; the message says what to install.</exception>
    /// <exception cref="EmbeddedServerException">It did not start; the message carries the end of its log.</exception>
    public static async Task<EmbeddedServer> StartAsync(string dataFolder, Action<string> say, CancellationToken cancellation)
    {
        ArgumentException.ThrowIfNullOrWhiteSpace(dataFolder);
        ArgumentNullException.ThrowIfNull(say);
        try
        {
            var home = await ServerHome.ChooseAsync(dataFolder, say, cancellation).ConfigureAwait(false);
            RefuseForeign(home);
            var access = await RunningAsync(home, cancellation).ConfigureAwait(false);
            if (access is null)
            {
                var held = await StartLock.TakeAsync(home.Lock, say, cancellation).ConfigureAwait(false);
                await using (held.ConfigureAwait(false))
                {
                    access = await EnsureRunningAsync(home, say, cancellation).ConfigureAwait(false);
                }
            }
            return new EmbeddedServer(dataFolder, access);
        }
        catch (Exception cause) when (cause is IOException or UnauthorizedAccessException or NpgsqlException)
        {
            throw new EmbeddedServerException($"The database in {dataFolder} could not be started: {cause.Message}", cause);
        }
    }

    /// <summary>Stops this server for everybody.</summary>
    public Task StopAsync() => StopAsync(dataFolderGiven);

    /// <summary>Stops the server of a data folder.</summary>
    /// <returns>Whether one was running.</returns>
    /// <exception cref="EmbeddedServerException">It did not stop, or belongs to another user.</exception>
    public static async Task<bool> StopAsync(string dataFolder)
    {
        ArgumentException.ThrowIfNullOrWhiteSpace(dataFolder);
        if (ServerHome.Existing(dataFolder) is not { } home)
        {
            return false;
        }
        RefuseForeign(home);
        try
        {
            var held = await StartLock.TakeAsync(home.Lock, _ => { }, CancellationToken.None).ConfigureAwait(false);
            await using (held.ConfigureAwait(false))
            {
                return await EnsureStoppedAsync(home, CancellationToken.None).ConfigureAwait(false);
            }
        }
        catch (Exception cause) when (cause is IOException or UnauthorizedAccessException)
        {
            throw new EmbeddedServerException($"The database in {dataFolder} could not be stopped: {cause.Message}", cause);
        }
    }

    private static void RefuseForeign(ServerHome home)
    {
        if (home.IsForeign())
        {
            throw new EmbeddedServerException($"The database in {home.Folder} belongs to another user of this machine.");
        }
    }

    private static async Task<bool> EnsureStoppedAsync(ServerHome home, CancellationToken cancellation)
    {
        if (Postmaster.Find(home.Cluster) is not { } server)
        {
            return false;
        }
        var access = server.Port > 0 && home.HasPasswords ? await Access.ForAsync(home, server, cancellation).ConfigureAwait(false) : null;
        var (_, control) = await ToolsAsync(home, _ => { }, cancellation).ConfigureAwait(false);
        await control.StopAsync(cancellation).ConfigureAwait(false);
        access?.Forget();
        ForgetSocketFolder(home);
        return true;
    }

    /// <summary>Nothing of a stopped server stays among the temporary files; the next start makes the folder again.</summary>
    private static void ForgetSocketFolder(ServerHome home)
    {
        try
        {
            if (Directory.Exists(home.SocketFolder)) { Directory.Delete(home.SocketFolder); }
        }
        catch (Exception kept) when (kept is IOException or UnauthorizedAccessException)
        {
            // Somebody else put something there: it is theirs to remove.
        }
    }

    /// <summary>The quick way, which needs neither the lock nor the programs.</summary>
    private static async Task<Access?> RunningAsync(ServerHome home, CancellationToken cancellation)
    {
        if (Postmaster.Find(home.Cluster) is not { Ready: true } server || !home.HasPasswords)
        {
            return null;
        }
        var access = await Access.ForAsync(home, server, cancellation).ConfigureAwait(false);
        return await access.AnswersAsync(cancellation).ConfigureAwait(false) ? access : null;
    }

    private static async Task<Access> EnsureRunningAsync(ServerHome home, Action<string> say, CancellationToken cancellation)
    {
        // The command that held the lock before us may have started it.
        if (await RunningAsync(home, cancellation).ConfigureAwait(false) is { } running)
        {
            return running;
        }
        var (cluster, control) = await ToolsAsync(home, say, cancellation).ConfigureAwait(false);
        if (Postmaster.Find(home.Cluster) is { SocketLost: true })
        {
            // Somebody tidied the folder for temporary files; only a new start brings the socket back.
            await control.StopAsync(cancellation).ConfigureAwait(false);
        }
        if (Postmaster.Find(home.Cluster) is null)
        {
            await cluster.CreateIfMissingAsync(say, cancellation).ConfigureAwait(false);
            await cluster.ConfigureAsync(cancellation).ConfigureAwait(false);
            say("Starting the private PostgreSQL database; it stays up for the next command.");
            await control.StartAsync(cancellation).ConfigureAwait(false);
        }
        await cluster.WritePasswordsAsync(cancellation).ConfigureAwait(false);
        return await AnswerAsync(home, control, cancellation).ConfigureAwait(false);
    }

    private static async Task<(Cluster Cluster, ServerControl Control)> ToolsAsync(
        ServerHome home,
        Action<string> say,
        CancellationToken cancellation
    )
    {
        var user = await ServerUser.ForAsync(home.Cluster, cancellation).ConfigureAwait(false);
        var binaries = await PostgresBinaries.FindAsync(home.ClusterMajor, say, cancellation).ConfigureAwait(false);
        if (user.Name is not null && !await user.CanEnterAsync(binaries.Folder, cancellation).ConfigureAwait(false))
        {
            throw new EmbeddedServerException(
                $"The user {user.Name}, who runs the database for root, cannot enter {binaries.Folder}."
            );
        }
        return (new Cluster(home, user, binaries), new ServerControl(home, user, binaries));
    }

    /// <summary>Waits until the role can work, and gives it what it lacks.</summary>
    private static async Task<Access> AnswerAsync(ServerHome home, ServerControl control, CancellationToken cancellation)
    {
        var waited = Stopwatch.StartNew();
        Exception? last = null;
        while (waited.Elapsed < AnswerPatience)
        {
            if (Postmaster.Find(home.Cluster) is not { } server)
            {
                throw new EmbeddedServerException($"PostgreSQL ended again at once. {control.Tail()}");
            }
            if (server.Ready)
            {
                var access = await Access.ForAsync(home, server, cancellation).ConfigureAwait(false);
                try
                {
                    await access.PrepareAsync(cancellation).ConfigureAwait(false);
                    return access;
                }
                catch (NpgsqlException cause)
                {
                    last = cause;
                }
            }
            await Task.Delay(25, cancellation).ConfigureAwait(false);
        }
        throw new EmbeddedServerException(
            $"PostgreSQL runs but did not answer within {AnswerPatience.TotalSeconds:0} seconds: {last?.Message} {control.Tail()}",
            last ?? new TimeoutException()
        );
    }
}
