using System.CommandLine;
using Contracts.Host.Terminal;
using Contracts.Store.Embedded;

namespace Contracts.Host.Running;

/// <summary>`contracts database`: the connection string in use, for administrators.</summary>
public static class DatabaseCommand
{
    public static Command Build()
    {
        var role = new Option<string>("--role") { Description = "app, or owner for the embedded server's superuser.", DefaultValueFactory = _ => "app" };
        role.AcceptOnlyFromAmong("app", "owner");
        var command = new Command("database", "Print the connection string of the database in use.") { role };
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
                Console.Out.WriteLine(parse.GetValue(role) == "owner" ? server.OwnerConnectionString : server.ConnectionString);
                return ExitCodes.Done;
            }
            catch (Exception fault) when (fault is PostgresMissingException or EmbeddedServerException or IOException or Npgsql.NpgsqlException or TimeoutException)
            {
                await Console.Error.WriteLineAsync($"contracts: {fault.Message}").ConfigureAwait(false);
                return ExitCodes.Failed;
            }
        });
        return command;
    }
}
