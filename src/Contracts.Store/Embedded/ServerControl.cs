using System.Diagnostics;
using System.Globalization;
using System.Text;

namespace Contracts.Store.Embedded;

/// <summary>Starts and stops the server of a cluster that exists.</summary>
internal sealed class ServerControl(ServerHome home, ServerUser user, PostgresBinaries binaries)
{
    private const int LogLimit = 10_000_000;

    // Processes of a server that was killed may end a little later, and until then hold its memory.
    private static readonly TimeSpan OrphanPatience = TimeSpan.FromSeconds(30);

    public async Task StartAsync(CancellationToken cancellation)
    {
        var waited = Stopwatch.StartNew();
        if (File.Exists(home.Log) && new FileInfo(home.Log).Length > LogLimit)
        {
            File.Move(home.Log, home.Log + ".old", overwrite: true);
        }
        while (true)
        {
            Postmaster.ForgetStranger(home.Cluster);
            var before = File.Exists(home.Log) ? new FileInfo(home.Log).Length : 0;
            // -w ends at once when the server is ready or has given up; a recovery may take its time.
            string[] arguments = ["start", "-D", home.Cluster, "-l", home.Log, "-w", "-t", "300", "-s"];
            var started = await RunControlAsync(arguments, cancellation).ConfigureAwait(false);
            // A start that an ended command had begun may win over ours, which does as well.
            if (started.Succeeded || Postmaster.Find(home.Cluster) is not null)
            {
                return;
            }
            var log = Tail(before);
            if (!HeldByOrphans(log) || waited.Elapsed > OrphanPatience)
            {
                throw new EmbeddedServerException($"PostgreSQL did not start. {started.Output}\n{log}".TrimEnd());
            }
            await Task.Delay(200, cancellation).ConfigureAwait(false);
        }
    }

    public async Task StopAsync(CancellationToken cancellation)
    {
        // Fast: open transactions are undone, what was acknowledged is kept.
        string[] arguments = ["stop", "-D", home.Cluster, "-m", "fast", "-w", "-t", "120", "-s"];
        var stopped = await Command
            .RunAsync(binaries.Program("pg_ctl"), arguments, user, null, cancellation)
            .ConfigureAwait(false);
        if (!stopped.Succeeded && Postmaster.Find(home.Cluster) is not null)
        {
            throw new EmbeddedServerException($"PostgreSQL did not stop. {stopped.Output}");
        }
    }

    /// <summary>The last lines of the log, for an error message.</summary>
    public string Tail(long from = 0)
    {
        const int enough = 2000;
        try
        {
            using var stream = new FileStream(home.Log, FileMode.Open, FileAccess.Read, FileShare.ReadWrite | FileShare.Delete);
            stream.Position = Math.Min(stream.Length, Math.Max(from, stream.Length - enough));
            using var reader = new StreamReader(stream, Encoding.UTF8);
            return string.Create(CultureInfo.InvariantCulture, $"The end of {home.Log}:\n{reader.ReadToEnd().Trim()}");
        }
        catch (Exception cause) when (cause is IOException or UnauthorizedAccessException)
        {
            return "";
        }
    }

    private static bool HeldByOrphans(string log) =>
        log.Contains("shared memory block", StringComparison.Ordinal)
        || log.Contains("lock file", StringComparison.Ordinal);

    private Task<CommandResult> RunControlAsync(string[] arguments, CancellationToken cancellation) =>
        OperatingSystem.IsWindows()
            ? RunUnsharedAsync(arguments, cancellation)
            : Command.RunDetachingAsync(binaries.Program("pg_ctl"), arguments, user, cancellation);

    /// <summary>On Windows a child inherits our pipes unless the shell starts it, which catches no output.</summary>
    private async Task<CommandResult> RunUnsharedAsync(string[] arguments, CancellationToken cancellation)
    {
        var start = new ProcessStartInfo(binaries.Program("pg_ctl"), arguments)
        {
            UseShellExecute = true,
            WindowStyle = ProcessWindowStyle.Hidden,
        };
        using var process = Process.Start(start) ?? throw new EmbeddedServerException("pg_ctl did not start.");
        await process.WaitForExitAsync(cancellation).ConfigureAwait(false);
        return new CommandResult(process.ExitCode, "");
    }
}
