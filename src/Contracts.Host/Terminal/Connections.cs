using System.CommandLine;
using Contracts.Store.Embedded;

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

    public static string DataFolder(ParseResult parse) =>
        parse.GetValue(CommonOptions.Data) ?? EmbeddedServer.DefaultDataFolder();

    public static async Task<string> FindAsync(ParseResult parse, CancellationToken stop) =>
        Named(parse) ?? (await EmbeddedAsync(parse, stop).ConfigureAwait(false)).ConnectionString;

    public static Task<EmbeddedServer> EmbeddedAsync(ParseResult parse, CancellationToken stop) =>
        EmbeddedServer.StartAsync(DataFolder(parse), words => Console.Error.WriteLine(words), stop);
}
