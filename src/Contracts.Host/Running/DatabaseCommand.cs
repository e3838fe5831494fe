using System.CommandLine;
using Contracts.Host.Terminal;
using Contracts.Store.Embedded;
using Npgsql;

namespace Contracts.Host.Running;

/// <summary>`contracts database`: the connection string in use, for administrators.</summary>
public static class DatabaseCommand
{
    public static Command Build()
    {
        var demo = new Option<bool>("--demo") { Description = "Of the embedded server: the database that `contracts demo` fills." };
        var role = new Option<string>("--role")
        {
            Description = "Of the embedded server: app, sealer, read, pii (the vault), or owner for its superuser.", DefaultValueFactory = _ => "app",
        };
        role.AcceptOnlyFromAmong("app", "owner", "sealer", "read", "pii");
        var command = new Command("database", "Print the connection string of the database in use.") { role, demo };
        command.SetAction(async (parse, stop) =>
        {
            try
            {
                if (Connections.Named(parse) is { } named)
                {
                    Console.Out.WriteLine(named);
                    return ExitCodes.Done;
                }

                var server = await Connections.EmbeddedAsync(parse, stop).ConfigureAwait(false);
                var text = parse.GetValue(role) is "owner" ? server.OwnerConnectionString : server.ConnectionStringOf($"contracts_{parse.GetValue(role)}");
                Console.Out.WriteLine(parse.GetValue(demo) ? new NpgsqlConnectionStringBuilder(text) { Database = Story.DemoCommand.Database }.ConnectionString : text);
                return ExitCodes.Done;
            }
            catch (Exception fault) when (fault is PostgresMissingException or EmbeddedServerException or IOException or NpgsqlException or TimeoutException)
            {
                await Console.Error.WriteLineAsync($"contracts: {fault.Message}").ConfigureAwait(false);
                return ExitCodes.Failed;
            }
        });
        return command;
    }
}
