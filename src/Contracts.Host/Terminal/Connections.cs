using System.CommandLine;
using Contracts.Store;
using Contracts.Store.Embedded;
using Contracts.Store.Seals;
using Contracts.Store.Vault;
using Npgsql;

namespace Contracts.Host.Terminal;

/// <summary>Which database a command works on: the one named, or the embedded server, started on demand.</summary>
public static class Connections
{
    public const string Variable = "CONTRACTS_DATABASE";

    /// <summary>Names the folder of the cookies' keys where it is not to be the usual one.</summary>
    public const string CookieKeysVariable = "CONTRACTS_COOKIE_KEYS";

    public const string KeysVariable = "CONTRACTS_KEYS";

    /// <summary>The way into the vault of a server of one's own: the same database as the role contracts_pii.</summary>
    public const string VaultVariable = "CONTRACTS_VAULT";

    /// <summary>The way in for who seals, on a server of one's own: the same database as the role contracts_sealer.</summary>
    public const string SealerVariable = "CONTRACTS_SEALER";

    /// <summary>`optional` lets a server of one's own go without checksums of its pages.</summary>
    public const string ChecksumsVariable = "CONTRACTS_CHECKSUMS";

    public static string? Named(ParseResult parse) =>
        parse.GetValue(CommonOptions.Database) ?? Environment.GetEnvironmentVariable(Variable) switch
        {
            null or "" => null,
            var text => text,
        };

    public static string DataFolder(ParseResult parse) => parse.GetValue(CommonOptions.Data) switch
    {
        null => EmbeddedServer.DefaultDataFolder(),
        "" => throw new UsageException("--data names no folder."),
        var folder => folder,
    };

    /// <summary>Where the log's key and the signer's memory lie: apart from the database, so that who has the one has not the other.</summary>
    public static string SignerFolder(ParseResult parse) => Environment.GetEnvironmentVariable(FolderSigner.Variable) switch
    {
        null or "" => Path.Combine(DataFolder(parse), "signer"),
        var folder => Path.GetFullPath(folder),
    };

    /// <summary>Where the keys that seal people's cookies lie: beside the signer's, and apart from the database as well. The demo has its own.</summary>
    public static string CookieKeys(ParseResult parse, bool demo)
    {
        var folder = Environment.GetEnvironmentVariable(CookieKeysVariable) is { Length: > 0 } named
            ? Path.GetFullPath(named)
            : Path.Combine(DataFolder(parse), "cookie-keys");
        return demo ? folder + "-demo" : folder;
    }

    /// <summary>
    /// Where the households' keys lie: CONTRACTS_KEYS, else beside the embedded server. For another server a folder has to be named, since
    /// its backups are none of ours and the keys' have to be short-lived.
    /// </summary>
    public static HouseholdKeys? Keys(ParseResult parse) => Environment.GetEnvironmentVariable(KeysVariable) switch
    {
        { Length: > 0 } folder => new HouseholdKeys(folder),
        _ => Named(parse) is null ? new HouseholdKeys(Path.Combine(DataFolder(parse), "household-keys")) : null,
    };

    public static async Task<StoreConnection> FindAsync(ParseResult parse, CancellationToken stop)
    {
        if (Named(parse) is not { } named) { return (await EmbeddedAsync(parse, stop).ConfigureAwait(false)).Connection; }
        try
        {
            var read = new NpgsqlConnectionStringBuilder(named);
            return read.Host is null
                ? throw new ArgumentException("it names no host")
                : new StoreConnection(read.ConnectionString, null, Environment.GetEnvironmentVariable(ChecksumsVariable) != "optional")
                {
                    Personal = Environment.GetEnvironmentVariable(VaultVariable) is { Length: > 0 } vault ? vault : null,
                    Sealer = Environment.GetEnvironmentVariable(SealerVariable) is { Length: > 0 } sealer ? sealer : null,
                };
        }
        catch (ArgumentException wrong)
        {
            throw new UsageException($"The database is not an Npgsql connection string, such as Host=db;Username=shop: {wrong.Message}");
        }
    }

    public static Task<EmbeddedServer> EmbeddedAsync(ParseResult parse, CancellationToken stop) =>
        EmbeddedServer.StartAsync(DataFolder(parse), words => Console.Error.WriteLine(words), stop);
}
