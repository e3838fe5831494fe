namespace Contracts.Store.Embedded;

/// <summary>
/// The operating-system user the server runs as. PostgreSQL refuses to run as root, so
/// root hands it to another user; everybody else runs it themselves (name is null).
/// </summary>
/// <remarks>
/// Below the server's folder, root writes only through this user: that user could have put
/// a link there, and root following it would write anywhere.
/// </remarks>
internal sealed record ServerUser(string? Name)
{
    public static async Task<ServerUser> ForAsync(string clusterFolder, CancellationToken cancellation)
    {
        if (OperatingSystem.IsWindows() || !Environment.IsPrivilegedProcess)
        {
            return new ServerUser((string?)null);
        }
        // A cluster that exists belongs to somebody, and PostgreSQL starts it for nobody else.
        if (Directory.Exists(clusterFolder) && await OwnerAsync(clusterFolder, cancellation).ConfigureAwait(false) is { } owner)
        {
            return new ServerUser(owner);
        }
        var postgres = await Command
            .RunAsync("/usr/bin/env", ["id", "-u", "postgres"], null, null, cancellation)
            .ConfigureAwait(false);
        return new ServerUser(postgres.Succeeded ? "postgres" : "nobody");
    }

    /// <summary>Whether the user can enter a folder, by the only sure test: entering it.</summary>
    public Task<bool> CanEnterAsync(string folder, CancellationToken cancellation) =>
        ShellAsync("cd \"$0\"", folder, null, cancellation);

    /// <summary>Makes a folder that only this user can enter, or says that it cannot.</summary>
    public async Task<bool> MakePrivateFolderAsync(string folder, CancellationToken cancellation)
    {
        if (OperatingSystem.IsWindows())
        {
            // Below the user's own profile, which Windows keeps to that user.
            Directory.CreateDirectory(folder);
            return true;
        }
        // Somebody else may have made it first, in a folder open to all.
        const string script =
            "mkdir -m 700 \"$0\" 2>/dev/null; test ! -L \"$0\" && test -d \"$0\" && test -O \"$0\" && chmod 700 \"$0\"";
        return await ShellAsync(script, folder, null, cancellation).ConfigureAwait(false);
    }

    /// <summary>Makes the folder for the socket, free of what a killed server left there.</summary>
    /// <remarks>
    /// Called only when no server runs in the cluster. PostgreSQL itself would believe a left
    /// lock file whose process number is taken again.
    /// </remarks>
    public async Task<bool> MakeSocketFolderAsync(string folder, CancellationToken cancellation) =>
        await MakePrivateFolderAsync(folder, cancellation).ConfigureAwait(false)
        && await ShellAsync("rm -f \"$0\"/.s.PGSQL.*", folder, null, cancellation).ConfigureAwait(false);

    /// <summary>Writes a file that only this user (and root) can read.</summary>
    public async Task WriteAsync(string file, string text, CancellationToken cancellation)
    {
        if (OperatingSystem.IsWindows())
        {
            await File.WriteAllTextAsync(file, text, cancellation).ConfigureAwait(false);
        }
        // Whole or not at all: a half-written password would lock us out for good.
        else if (!await ShellAsync("umask 077; cat >\"$0.new\" && mv -f \"$0.new\" \"$0\"", file, text, cancellation).ConfigureAwait(false))
        {
            throw new EmbeddedServerException($"Could not write {file}.");
        }
    }

    private async Task<bool> ShellAsync(string script, string path, string? input, CancellationToken cancellation) =>
        (
            await Command.RunAsync("/bin/sh", ["-c", script, path], this, input, cancellation).ConfigureAwait(false)
        ).Succeeded;

    private static async Task<string?> OwnerAsync(string folder, CancellationToken cancellation)
    {
        IReadOnlyList<string> arguments = OperatingSystem.IsMacOS() ? ["stat", "-f", "%Su", folder] : ["stat", "-c", "%U", folder];
        var stat = await Command.RunAsync("/usr/bin/env", arguments, null, null, cancellation).ConfigureAwait(false);
        return stat.Succeeded && stat.Output is not ("" or "root" or "UNKNOWN") ? stat.Output : null;
    }
}
