using System.CommandLine;
using Contracts.Store.Embedded;
using Contracts.Store.Seals;
using Npgsql;

namespace Contracts.Host.Terminal;

/// <summary>Which database a command works on: the one named, or the embedded server, started on demand.</summary>
public static class Connections
{
    public const string Variable = "CONTRACTS_DATABASE";

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

    public static async Task<string> FindAsync(ParseResult parse, CancellationToken stop)
    {
        if (Named(parse) is not { } named) { return (await EmbeddedAsync(parse, stop).ConfigureAwait(false)).ConnectionString; }
        try
        {
            var read = new NpgsqlConnectionStringBuilder(named);
            return read.Host is null ? throw new ArgumentException("it names no host") : read.ConnectionString;
        }
        catch (ArgumentException wrong)
        {
            throw new UsageException($"The database is not an Npgsql connection string, such as Host=db;Username=shop: {wrong.Message}");
        }
    }

    public static Task<EmbeddedServer> EmbeddedAsync(ParseResult parse, CancellationToken stop) =>
        EmbeddedServer.StartAsync(DataFolder(parse), words => Console.Error.WriteLine(words), stop);
}
