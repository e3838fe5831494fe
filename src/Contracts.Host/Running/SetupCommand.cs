using System.CommandLine;
using Contracts.Host.Serving;
using Contracts.Host.Terminal;
using Contracts.Store;
using Contracts.Store.Embedded;
using Npgsql;

namespace Contracts.Host.Running;

/// <summary>`contracts setup`: tables and roles, made or upgraded by the owner of a database, for a login that may then only add.</summary>
public static class SetupCommand
{
    public static Command Build()
    {
        var command = new Command(
            "setup",
            """
            Make or upgrade the tables and roles of a database, as its owner. The database must hold nothing but the store.

              contracts setup --database 'Host=db;Database=contracts;Username=postgres;Password=...'
              psql -h db -U postgres -c "alter role contracts_app password '...'"        once, by the administrator
              export CONTRACTS_DATABASE='Host=db;Database=contracts;Username=contracts_app;Password=...'

            The embedded PostgreSQL needs none of this: it is set up on its first start. Repeat it after an upgrade of this program.
            """);
        command.SetAction(RunAsync);
        return command;
    }

    private static async Task<int> RunAsync(ParseResult parse, CancellationToken stop)
    {
        try
        {
            var connection = await Connections.FindAsync(parse, stop).ConfigureAwait(false);
            var owner = connection.Owner ?? connection.Everyday;
            if (!await StoreSetup.RunAsync(owner, alone: true, stop).ConfigureAwait(false))
            {
                await Console.Error.WriteLineAsync(
                    $"contracts: the tables are there, the roles are not: {new NpgsqlConnectionStringBuilder(owner).Username} may not make roles. "
                    + "Name a superuser, or a role with CREATEROLE that owns the database.").ConfigureAwait(false);
                return ExitCodes.Failed;
            }

            await MessageTables.MakeAsync(owner, stop).ConfigureAwait(false);
            await Console.Error.WriteLineAsync(
                connection.Owner is not null
                    ? "The tables and roles are set up; commands log in by themselves."
                    : $"The tables and roles are set up. Work as {DatabaseRoles.App}; the administrator gives it a password, if the server asks for one, "
                        + $"with: alter role {DatabaseRoles.App} password '...'").ConfigureAwait(false);
            return ExitCodes.Done;
        }
        catch (Exception fault) when (fault is StoreException or NpgsqlException or IOException or PostgresMissingException
            or EmbeddedServerException or UnauthorizedAccessException or TimeoutException)
        {
            await Console.Error.WriteLineAsync($"contracts: {fault.Message}").ConfigureAwait(false);
            return ExitCodes.Failed;
        }
    }
}
