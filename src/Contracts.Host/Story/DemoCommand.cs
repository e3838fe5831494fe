using System.CommandLine;
using Contracts.Host.Counter;
using Contracts.Host.Papers;
using Contracts.Host.Running;
using Contracts.Host.Terminal;
using Contracts.Store;
using Contracts.Store.Embedded;
using Contracts.Store.Vault;
using NodaTime;
using Npgsql;

namespace Contracts.Host.Story;

/// <summary>`contracts demo`: loads an invented school year into a database of its own and tells what it shows.</summary>
public static class DemoCommand
{
    /// <summary>The demo's own database beside the user's.</summary>
    internal const string Database = "contracts_demo";
    private const string Resource = "school-year.jsonl";

    public static Command Build()
    {
        var intoDatabase = new Option<bool>("--into-database")
        {
            Description = "Use the named database, which must be empty or hold the demo: it gets invented families and a simulated clock.",
        };
        var command = new Command("demo", "Load an invented school year of about forty band families, and tell its story.") { intoDatabase };
        command.SetAction(async (parse, stop) =>
        {
            try
            {
                var named = Connections.Named(parse) is not null;
                if (named && !parse.GetValue(intoDatabase))
                {
                    throw new UsageException(
                        "The demo would fill the named database with invented families and a simulated clock; "
                        + "unset CONTRACTS_DATABASE, or name an empty database and add --into-database.");
                }

                var connection = named
                    ? await Connections.FindAsync(parse, stop).ConfigureAwait(false)
                    : await FreshDatabaseAsync(parse, stop).ConfigureAwait(false);
                await using var session = await OpenAsync(parse, connection, stop).ConfigureAwait(false);
                var store = session.Store;
                if (await store.Reader.CountAsync(stop).ConfigureAwait(false) > 0
                    && await store.Reader.HistoryAsync(SchoolYear.Family, Instant.MaxValue, stop).ConfigureAwait(false) is null)
                {
                    throw new StoreException("The named database holds other contracts than the demo's; the demo leaves it alone.");
                }

                var summary = await LoadAsync(store, stop).ConfigureAwait(false);
                await new SchoolYear(session, ownDatabase: !named).TellAsync(summary, stop).ConfigureAwait(false);
                await session.SealWrittenAsync().ConfigureAwait(false);
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

    /// <summary>The demo's own database as it stands, made and loaded where it is missing; for a host that shows it.</summary>
    public static async Task<Session> OpenStandingAsync(ParseResult parse, CancellationToken stop)
    {
        if (Connections.Named(parse) is not null)
        {
            throw new UsageException("--demo shows the demo's own database beside the embedded server's; unset CONTRACTS_DATABASE, or leave --demo out.");
        }

        var server = await Connections.EmbeddedAsync(parse, stop).ConfigureAwait(false);
        await using (var source = NpgsqlDataSource.Create(server.OwnerConnectionString))
        await using (var find = source.CreateCommand($"select exists (select from pg_database where datname = '{Database}')"))
        {
            if (await find.ExecuteScalarAsync(stop).ConfigureAwait(false) is not true) { await FreshDatabaseAsync(parse, stop).ConfigureAwait(false); }
        }

        var session = await OpenAsync(parse, server.Connection.In(Database), stop).ConfigureAwait(false);
        try
        {
            // What is there is passed over, so a load that was interrupted is finished and nothing comes twice.
            await LoadAsync(session.Store, stop).ConfigureAwait(false);
            await new AfterTheYear(session).LiveAsync(stop).ConfigureAwait(false);
            await session.SealWrittenAsync().ConfigureAwait(false);
            return session;
        }
        catch
        {
            await session.DisposeAsync().ConfigureAwait(false);
            throw;
        }
    }

    private static async Task<Session> OpenAsync(ParseResult parse, StoreConnection connection, CancellationToken stop)
    {
        var store = await ContractsStore.OpenAsync(
            connection, new StoreSettings(CommonOptions.DefaultZone, SimulatedClock: true, PaperPress.Print, DemoKeys(parse)), stop).ConfigureAwait(false);
        if (store.Warning is { } warning) { await Console.Error.WriteLineAsync($"contracts: {warning}").ConfigureAwait(false); }
        return new Session(store, OutputFormat.Table, Connections.SignerFolder(parse));
    }

    /// <summary>The invented year as shipped inside the executable.</summary>
    public static Stream OpenSchoolYear() => Open(Resource);

    /// <summary>A file of the demo as shipped inside the executable.</summary>
    internal static Stream Open(string resource) =>
        typeof(DemoCommand).Assembly.GetManifestResourceStream(resource) ?? throw new IOException($"The resource {resource} is missing from the build.");

    /// <summary>Loads the invented year.</summary>
    public static Task<LoadSummary> LoadAsync(ContractsStore store, CancellationToken stop) => LoadAsync(store, Resource, stop);

    /// <summary>Loads one of the demo's command files.</summary>
    internal static async Task<LoadSummary> LoadAsync(ContractsStore store, string resource, CancellationToken stop)
    {
        await using var bus = await CommandBus.StartAsync(store, stop).ConfigureAwait(false);
        var loader = new FileLoader(bus, stopOnRefusal: false, Progress.ToStandardError());
        await using var lines = Open(resource);
        await loader.LoadAsync(resource, lines, stop).ConfigureAwait(false);
        return loader.Summary;
    }

    /// <summary>A folder of its own: the demo's families may have the references of real ones, whose keys it must never meet.</summary>
    private static HouseholdKeys DemoKeys(ParseResult parse) => new(Environment.GetEnvironmentVariable(Connections.KeysVariable) is { Length: > 0 } keys
        ? Path.Combine(keys, "demo")
        : Path.Combine(Connections.DataFolder(parse), "demo-household-keys"));

    /// <summary>The demo never touches the user's own contracts: it has a database beside them, made anew each time.</summary>
    private static async Task<StoreConnection> FreshDatabaseAsync(ParseResult parse, CancellationToken stop)
    {
        var server = await Connections.EmbeddedAsync(parse, stop).ConfigureAwait(false);
        await using var source = NpgsqlDataSource.Create(server.OwnerConnectionString);
        await using (var drop = source.CreateCommand($"drop database if exists {Database} with (force)"))
        {
            await drop.ExecuteNonQueryAsync(stop).ConfigureAwait(false);
        }

        await using (var create = source.CreateCommand($"create database {Database}"))
        {
            await create.ExecuteNonQueryAsync(stop).ConfigureAwait(false);
        }

        return server.Connection.In(Database);
    }
}
