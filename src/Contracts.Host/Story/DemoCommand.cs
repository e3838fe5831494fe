using System.CommandLine;
using Contracts.Host.Counter;
using Contracts.Host.Running;
using Contracts.Host.Terminal;
using Contracts.Store;
using Contracts.Store.Embedded;
using Npgsql;

namespace Contracts.Host.Story;

/// <summary>`contracts demo`: loads an invented school year into a database of its own and tells what it shows.</summary>
public static class DemoCommand
{
    private const string Database = "contracts_demo";
    private const string Resource = "school-year.jsonl";

    public static Command Build()
    {
        var command = new Command("demo", "Load an invented school year of about forty band families, and tell its story.");
        command.SetAction(async (parse, stop) =>
        {
            try
            {
                var connection = Connections.Named(parse) ?? await FreshDatabaseAsync(parse, stop).ConfigureAwait(false);
                var store = await ContractsStore.OpenAsync(
                    connection, new StoreSettings(CommonOptions.DefaultZone, SimulatedClock: true), stop).ConfigureAwait(false);
                await using var session = new Session(store, OutputFormat.Table);
                var summary = await LoadAsync(store, stop).ConfigureAwait(false);
                await new SchoolYear(session).TellAsync(summary, stop).ConfigureAwait(false);
                return summary.Refused.Count > 0 ? ExitCodes.Refused : ExitCodes.Done;
            }
            catch (Exception fault) when (fault is StoreException or NpgsqlException or IOException or PostgresMissingException or EmbeddedServerException)
            {
                await Console.Error.WriteLineAsync($"contracts: {fault.Message}").ConfigureAwait(false);
                return ExitCodes.Failed;
            }
        });
        return command;
    }

    /// <summary>The invented year as shipped inside the executable.</summary>
    public static Stream OpenSchoolYear() =>
        typeof(DemoCommand).Assembly.GetManifestResourceStream(Resource)
        ?? throw new IOException($"The resource {Resource} is missing from the build.");

    public static async Task<LoadSummary> LoadAsync(ContractsStore store, CancellationToken stop)
    {
        await using var bus = await CommandBus.StartAsync(store, stop).ConfigureAwait(false);
        var loader = new FileLoader(bus, stopOnRefusal: false, Progress.ToStandardError());
        await using var lines = OpenSchoolYear();
        await loader.LoadAsync(Resource, lines, stop).ConfigureAwait(false);
        return loader.Summary;
    }

    /// <summary>The demo never touches the user's own contracts: it has a database beside them, made anew each time.</summary>
    private static async Task<string> FreshDatabaseAsync(ParseResult parse, CancellationToken stop)
    {
        var server = await Connections.EmbeddedAsync(parse, stop).ConfigureAwait(false);
        await using var source = NpgsqlDataSource.Create(server.OwnerConnectionString);
        var role = new NpgsqlConnectionStringBuilder(server.ConnectionString).Username!;
        await using (var drop = source.CreateCommand($"drop database if exists {Database} with (force)"))
        {
            await drop.ExecuteNonQueryAsync(stop).ConfigureAwait(false);
        }

        await using (var create = source.CreateCommand($"create database {Database} owner \"{role}\""))
        {
            await create.ExecuteNonQueryAsync(stop).ConfigureAwait(false);
        }

        return new NpgsqlConnectionStringBuilder(server.ConnectionString) { Database = Database }.ConnectionString;
    }
}
