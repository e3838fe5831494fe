using System.Globalization;
using System.Text.RegularExpressions;

namespace Contracts.Store.Embedded;

/// <summary>A folder with the programs of one PostgreSQL.</summary>
/// <param name="Folder">The folder that holds <c>initdb</c>, <c>pg_ctl</c> and <c>postgres</c>.</param>
/// <param name="Major">The major version, such as 17.</param>
public sealed partial record PostgresBinaries(string Folder, int Major)
{
    /// <summary>The oldest major version that will do.</summary>
    public const int OldestMajor = 15;

    private const string Variable = "CONTRACTS_POSTGRES_BIN";
    private const string ForceNpm = "npm";

    private static readonly string[] Programs = ["initdb", "pg_ctl", "postgres"];

    /// <summary>Finds PostgreSQL on this machine, or fetches it when npm is there.</summary>
    /// <param name="needed">The major version an existing cluster needs; null when any will do.</param>
    /// <param name="say">Told, once, before anything is fetched.</param>
    /// <param name="cancellation">Ends the search.</param>
    /// <exception cref="PostgresMissingException">There is none; the message says what to install.</exception>
    public static async Task<PostgresBinaries> FindAsync(int? needed, Action<string> say, CancellationToken cancellation)
    {
        var named = Environment.GetEnvironmentVariable(Variable);
        if (named is { Length: > 0 } and not ForceNpm)
        {
            return await NamedAsync(named, needed, cancellation).ConfigureAwait(false);
        }
        if (named != ForceNpm)
        {
            await foreach (var folder in InstalledAsync(cancellation).ConfigureAwait(false))
            {
                if (await InspectAsync(folder, cancellation).ConfigureAwait(false) is { } found && found.Fits(needed))
                {
                    return found;
                }
            }
        }
        if (needed is null or NpmBinaries.Major
            && await NpmBinaries.FindAsync(say, cancellation).ConfigureAwait(false) is { } fetched)
        {
            return new PostgresBinaries(fetched, NpmBinaries.Major);
        }
        throw new PostgresMissingException(Advice(needed));
    }

    internal string Program(string name) => Path.Combine(Folder, OperatingSystem.IsWindows() ? name + ".exe" : name);

    private static async Task<PostgresBinaries> NamedAsync(string folder, int? needed, CancellationToken cancellation)
    {
        var full = Path.GetFullPath(folder);
        var found = await InspectAsync(full, cancellation).ConfigureAwait(false)
            ?? throw new PostgresMissingException($"{Variable} names {full}, which does not hold a PostgreSQL that runs.");
        return found.Fits(needed)
            ? found
            : throw new PostgresMissingException(
                $"{Variable} names PostgreSQL {found.Major}; {(needed is { } major ? $"the data here needs PostgreSQL {major}" : $"{OldestMajor} is the oldest that will do")}."
            );
    }

    private static async IAsyncEnumerable<string> InstalledAsync(
        [System.Runtime.CompilerServices.EnumeratorCancellation] CancellationToken cancellation
    )
    {
        if (Command.OnPath("pg_config") is { } config)
        {
            var answer = await Command.RunAsync(config, ["--bindir"], null, null, cancellation).ConfigureAwait(false);
            if (answer.Succeeded)
            {
                yield return answer.Output;
            }
        }
        if (Command.OnPath("initdb") is { } initdb)
        {
            // The server's programs lie beside the real file, not beside a link to it.
            yield return Path.GetDirectoryName(File.ResolveLinkTarget(initdb, returnFinalTarget: true)?.FullName ?? initdb)!;
        }
        foreach (var folder in UsualPlaces())
        {
            yield return folder;
        }
    }

    private static IEnumerable<string> UsualPlaces() =>
        OperatingSystem.IsWindows()
            ? Below(Path.Combine(Environment.GetFolderPath(Environment.SpecialFolder.ProgramFiles), "PostgreSQL"), "*")
            :
            [
                .. Below("/usr/lib/postgresql", "*"),
                .. Below("/usr", "pgsql-*"),
                .. Below("/opt/homebrew/opt", "postgresql*"),
                .. Below("/usr/local/opt", "postgresql*"),
            ];

    private static IEnumerable<string> Below(string parent, string pattern) =>
        Directory.Exists(parent)
            ? Directory
                .EnumerateDirectories(parent, pattern)
                .OrderByDescending(VersionInName)
                .Select(folder => Path.Combine(folder, "bin"))
            : [];

    private static int VersionInName(string folder) =>
        Digits().Match(Path.GetFileName(folder)) is { Success: true } match
            ? int.Parse(match.Value, CultureInfo.InvariantCulture)
            : 0;

    private static async Task<PostgresBinaries?> InspectAsync(string folder, CancellationToken cancellation)
    {
        var candidate = new PostgresBinaries(folder, 0);
        // A machine with only the client tools has pg_config, but no server.
        if (!Programs.All(name => File.Exists(candidate.Program(name))))
        {
            return null;
        }
        try
        {
            var answer = await Command
                .RunAsync(candidate.Program("postgres"), ["--version"], null, null, cancellation)
                .ConfigureAwait(false);
            var match = Digits().Match(answer.Output);
            return answer.Succeeded && match.Success
                ? candidate with { Major = int.Parse(match.Value, CultureInfo.InvariantCulture) }
                : null;
        }
        catch (EmbeddedServerException)
        {
            // Built for another machine; the next place may do better.
            return null;
        }
    }

    private bool Fits(int? needed) => needed is { } major ? Major == major : Major >= OldestMajor;

    private static string Advice(int? needed)
    {
        var version = needed is { } major ? $"PostgreSQL {major}, which made the data here," : $"PostgreSQL {OldestMajor} or newer";
        var package = needed is { } exact ? exact.ToString(CultureInfo.InvariantCulture) : "";
        var install =
            OperatingSystem.IsMacOS() ? $"brew install postgresql{(package.Length > 0 ? "@" + package : "")}"
            : OperatingSystem.IsWindows() ? "winget install PostgreSQL.PostgreSQL." + (package.Length > 0 ? package : "17")
            : $"apt-get install postgresql{(package.Length > 0 ? "-" + package : "")}";
        return $"{version} was not found: install it ({install}), name its folder in {Variable}, or set CONTRACTS_DATABASE to the connection string of a running one.";
    }

    [GeneratedRegex("[0-9]+")]
    private static partial Regex Digits();
}
