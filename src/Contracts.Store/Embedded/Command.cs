using System.ComponentModel;
using System.Diagnostics;
using System.Runtime.Versioning;

namespace Contracts.Store.Embedded;

/// <summary>What a finished program said.</summary>
internal sealed record CommandResult(int ExitCode, string Output)
{
    public bool Succeeded => ExitCode == 0;
}

/// <summary>Runs a program to its end with its output caught, never shared with ours.</summary>
internal static class Command
{
    public static async Task<CommandResult> RunAsync(
        string program,
        IReadOnlyList<string> arguments,
        ServerUser? user,
        string? input,
        CancellationToken cancellation
    )
    {
        using var process = new Process { StartInfo = Describe(program, arguments, user) };
        Start(process);
        try
        {
            // Both pipes are read while the program runs: a full pipe would stop it.
            var output = process.StandardOutput.ReadToEndAsync(cancellation);
            var errors = process.StandardError.ReadToEndAsync(cancellation);
            await WriteAsync(process, input, cancellation).ConfigureAwait(false);
            await process.WaitForExitAsync(cancellation).ConfigureAwait(false);
            var text = await output.ConfigureAwait(false) + await errors.ConfigureAwait(false);
            return new CommandResult(process.ExitCode, text.Trim());
        }
        catch (OperationCanceledException)
        {
            End(process);
            throw;
        }
    }

    /// <summary>Runs a program that hands over to one which outlives us.</summary>
    [UnsupportedOSPlatform("windows")]
    public static Task<CommandResult> RunDetachingAsync(
        string program,
        IReadOnlyList<string> arguments,
        ServerUser user,
        CancellationToken cancellation
    )
    {
        InheritedFiles.KeepFromChildren();
        // The same for systems where that does nothing, as far as a shell can.
        const string close = "exec 3>&- 4>&- 5>&- 6>&- 7>&- 8>&- 9>&-; exec \"$0\" \"$@\"";
        return RunAsync("/bin/sh", ["-c", close, program, .. arguments], user, null, cancellation);
    }

    /// <summary>The full path of a program on PATH, or null.</summary>
    public static string? OnPath(string name)
    {
        var file = OperatingSystem.IsWindows() && !Path.HasExtension(name) ? name + ".exe" : name;
        return (Environment.GetEnvironmentVariable("PATH") ?? "")
            .Split(Path.PathSeparator, StringSplitOptions.RemoveEmptyEntries)
            .Where(Path.IsPathFullyQualified)
            .Select(folder => Path.Combine(folder, file))
            .FirstOrDefault(File.Exists);
    }

    private static ProcessStartInfo Describe(string program, IReadOnlyList<string> arguments, ServerUser? user)
    {
        var start = new ProcessStartInfo(program, arguments)
        {
            RedirectStandardInput = true,
            RedirectStandardOutput = true,
            RedirectStandardError = true,
            UseShellExecute = false,
            CreateNoWindow = true,
            // Our own folder may be closed to the server's user, and must stay removable.
            WorkingDirectory = OperatingSystem.IsWindows() ? Environment.SystemDirectory : "/",
        };
        if (user is null)
        {
            return start;
        }
        // PGDATA, PGPORT and the like describe some other server than ours.
        foreach (var name in start.Environment.Keys.Where(IsPostgresVariable).ToList())
        {
            start.Environment.Remove(name);
        }
        if (user.Name is not null)
        {
            start.UserName = user.Name;
            start.Environment["HOME"] = "/";
        }
        return start;
    }

    private static bool IsPostgresVariable(string name) =>
        name.StartsWith("PG", StringComparison.OrdinalIgnoreCase);

    private static void Start(Process process)
    {
        try
        {
            process.Start();
        }
        catch (Win32Exception cause)
        {
            var whom = process.StartInfo.UserName is { Length: > 0 } name ? $" as the user {name}" : "";
            throw new EmbeddedServerException(
                $"Could not run {process.StartInfo.FileName}{whom}: {cause.Message}",
                cause
            );
        }
    }

    private static async Task WriteAsync(Process process, string? input, CancellationToken cancellation)
    {
        try
        {
            await process.StandardInput.WriteAsync(input.AsMemory(), cancellation).ConfigureAwait(false);
            process.StandardInput.Close();
        }
        catch (IOException)
        {
            // The program ended without reading; its exit code tells why.
        }
    }

    private static void End(Process process)
    {
        try
        {
            process.Kill(entireProcessTree: false);
        }
        catch (InvalidOperationException)
        {
            // It ended on its own in the meantime.
        }
    }
}
