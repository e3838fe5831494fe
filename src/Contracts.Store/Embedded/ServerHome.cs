using System.Security.Cryptography;
using System.Text;

namespace Contracts.Store.Embedded;

/// <summary>Where the parts of one private server lie.</summary>
internal sealed record ServerHome(string Folder)
{
    /// <summary>Holds the cluster, its passwords and its log; belongs to the server's user.</summary>
    public string Server => Path.Combine(Folder, "postgres");

    public string Cluster => Path.Combine(Server, "data");

    public string Log => Path.Combine(Server, "server.log");

    public string SuperuserPassword => Path.Combine(Server, "superuser.password");

    /// <summary>The password file of each role that logs in, by the role's name.</summary>
    public IEnumerable<(string Role, string File)> RolePasswords =>
        DatabaseRoles.All.Where(role => role != DatabaseRoles.Owner).Select(role => (role, Path.Combine(Server, role + ".password")));

    /// <summary>A server made by an older program has no passwords for the roles yet.</summary>
    public bool HasPasswords => RolePasswords.All(pair => File.Exists(pair.File));

    /// <summary>Outside the server's folder, so that it can be held before that folder exists.</summary>
    public string Lock => Path.Combine(Folder, "postgres.lock");

    public bool HasCluster => File.Exists(VersionFile);

    /// <summary>The major version that made the cluster, the only one that can run it.</summary>
    public int? ClusterMajor =>
        HasCluster && int.TryParse(File.ReadAllText(VersionFile), out var major) ? major : null;

    /// <summary>Short, because the path of a unix socket may not pass about 100 characters.</summary>
    public string SocketFolder => $"/tmp/contracts-{Hash(Server)}";

    /// <summary>The folder meant when the caller names none.</summary>
    public static string DefaultDataFolder()
    {
        if (Environment.GetEnvironmentVariable("CONTRACTS_DATA") is { Length: > 0 } named)
        {
            return Path.GetFullPath(named);
        }
        if (Environment.GetEnvironmentVariable("XDG_DATA_HOME") is { Length: > 0 } shared && Path.IsPathFullyQualified(shared))
        {
            return Path.Combine(shared, "contracts");
        }
        if (OperatingSystem.IsWindows())
        {
            return Path.Combine(Environment.GetFolderPath(Environment.SpecialFolder.LocalApplicationData), "contracts");
        }
        var home = Environment.GetEnvironmentVariable("HOME") is { Length: > 0 } given
            ? given
            : Environment.GetFolderPath(Environment.SpecialFolder.UserProfile);
        return Path.GetFullPath(Path.Combine(home, ".local", "share", "contracts"));
    }

    /// <summary>Where a server for this data folder is, or null when none was ever made.</summary>
    public static ServerHome? Existing(string dataFolder)
    {
        var full = Path.TrimEndingDirectorySeparator(Path.GetFullPath(dataFolder));
        var aside = Aside(full);
        // Aside first: it was chosen when the data folder could not be used, and a folder
        // that opens up later must not make the data seem lost.
        if (MayUseAside && aside.HasCluster)
        {
            return aside;
        }
        var plain = new ServerHome(full);
        return plain.HasCluster || plain.IsForeign() ? plain : null;
    }

    /// <summary>Where the server for this data folder is or shall be.</summary>
    public static async Task<ServerHome> ChooseAsync(string dataFolder, Action<string> say, CancellationToken cancellation)
    {
        if (Existing(dataFolder) is { } existing)
        {
            return existing;
        }
        var plain = new ServerHome(Path.TrimEndingDirectorySeparator(Path.GetFullPath(dataFolder)));
        if (!MayUseAside)
        {
            MakeFolder(plain.Folder);
            return plain;
        }
        var user = await ServerUser.ForAsync(plain.Cluster, cancellation).ConfigureAwait(false);
        var ground = NearestExisting(plain.Folder);
        if (await user.CanEnterAsync(ground, cancellation).ConfigureAwait(false))
        {
            MakeFolder(plain.Folder);
            return plain;
        }
        var aside = Aside(plain.Folder);
        say($"The user {user.Name}, who runs the database for root, cannot enter {ground}; the data goes to {aside.Folder}.");
        MakeFolder(aside.Folder);
        return aside;
    }

    /// <summary>Whether another user made the server here, who alone (with root) may see into it.</summary>
    public bool IsForeign()
    {
        try
        {
            return Directory.Exists(Server) && Directory.EnumerateFileSystemEntries(Server).Any(_ => false);
        }
        catch (UnauthorizedAccessException)
        {
            return true;
        }
    }

    private string VersionFile => Path.Combine(Cluster, "PG_VERSION");

    private static bool MayUseAside => !OperatingSystem.IsWindows() && Environment.IsPrivilegedProcess;

    private static ServerHome Aside(string dataFolder) => new($"/var/lib/contracts-{Hash(dataFolder)}");

    private static string NearestExisting(string folder)
    {
        var at = folder;
        while (!Directory.Exists(at) && Path.GetDirectoryName(at) is { } parent)
        {
            at = parent;
        }
        return at;
    }

    private static void MakeFolder(string folder)
    {
        if (Directory.Exists(folder))
        {
            return;
        }
        if (Path.GetDirectoryName(folder) is { } parent)
        {
            MakeFolder(parent);
        }
        Directory.CreateDirectory(folder);
        if (!OperatingSystem.IsWindows() && Environment.IsPrivilegedProcess)
        {
            // A strict umask of root must not shut out the server's user.
            File.SetUnixFileMode(folder, Modes.Traversable);
        }
    }

    private static string Hash(string path) =>
        Convert.ToHexStringLower(SHA256.HashData(Encoding.UTF8.GetBytes(path)))[..12];
}
