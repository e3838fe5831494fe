using System.CommandLine;
using Contracts.Store;
using Contracts.Store.Embedded;
using Npgsql;

namespace Contracts.Host.Terminal;

/// <summary>Which database a command works on: the one named, or the embedded server, started on demand.</summary>
public static class Connections
{
    public const string Variable = "CONTRACTS_DATABASE";

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

    public static async Task<StoreConnection> FindAsync(ParseResult parse, CancellationToken stop)
    {
        if (Named(parse) is not { } named) { return (await EmbeddedAsync(parse, stop).ConfigureAwait(false)).Connection; }
        try
        {
            var read = new NpgsqlConnectionStringBuilder(named);
            return read.Host is null
                ? throw new ArgumentException("it names no host")
                : new StoreConnection(read.ConnectionString, null, Environment.GetEnvironmentVariable(ChecksumsVariable) != "optional");
        }
        catch (ArgumentException wrong)
        {
            throw new UsageException($"The database is not an Npgsql connection string, such as Host=db;Username=shop: {wrong.Message}");
        }
    }

    public static Task<EmbeddedServer> EmbeddedAsync(ParseResult parse, CancellationToken stop) =>
        EmbeddedServer.StartAsync(DataFolder(parse), words => Console.Error.WriteLine(words), stop);
}
