using System.CommandLine;
using Contracts.Host.Terminal;
using Contracts.Store.Embedded;

namespace Contracts.Host.Running;

/// <summary>`contracts stop`: stops the embedded PostgreSQL cleanly; the next command starts it again.</summary>
public static class StopCommand
{
    public static Command Build()
    {
        var command = new Command("stop", "Stop the embedded PostgreSQL. Nothing is lost; the next command starts it again.");
        command.SetAction(async (parse, _) =>
        {
            var stopped = await EmbeddedServer.StopAsync(Connections.DataFolder(parse)).ConfigureAwait(false);
            await Console.Error.WriteLineAsync(stopped ? "stopped" : "it was not running").ConfigureAwait(false);
            return ExitCodes.Done;
        });
        return command;
    }
}
