using System.Text;
using Contracts.Commands;
using Contracts.Host.Counter;
using Contracts.Store;

namespace Contracts.Host.Serving;

/// <summary>
/// One command as a durable message: the line as it came, so that what waits in the queue reads like a command file.
/// Handling it twice is safe: its key makes it happen once.
/// </summary>
/// <param name="Line">The line.</param>
/// <param name="Key">The key of a line that has none.</param>
/// <param name="By">Who sent a line that names nobody.</param>
/// <param name="Trace">The trace id of the request that sent it.</param>
public sealed record CommandMessage(string Line, string? Key = null, string? By = null, string? Trace = null);

/// <summary>Handles commands that came through the queue; a refusal there has nobody to answer, so it is logged.</summary>
public static partial class CommandMessageHandler
{
    public static async Task Handle(
        CommandMessage message, ContractsStore store, ILogger<CommandMessage> log, CancellationToken stop)
    {
        var (read, refusal) = CommandReader.Read(Encoding.UTF8.GetBytes(message.Line), message.Key);
        if (read is not null)
        {
            var origin = read.Command.Origin;
            var command = read.Command with { Origin = origin with { By = origin.By ?? message.By } };
            var answers = await CommandHandler.WithoutBusAsync(RequestTrace.Traced(new CommandRequest(command, read.At), message.Trace), store, stop);
            refusal = (answers.Results[0] as CommandResult.Refused)?.Refusal;
        }

        if (refusal is not null) { LogRefused(log, read?.Command.Origin.Key ?? "?", refusal.Slug, refusal.Detail); }
    }

    [LoggerMessage(Level = LogLevel.Warning, Message = "Command {Key} from the queue was refused: {Code}: {Detail}")]
    private static partial void LogRefused(ILogger log, string key, string code, string detail);
}
