using System.CommandLine;
using Contracts.Host.Terminal;
using Contracts.Store;
using NodaTime;

namespace Contracts.Host.Reconstruct;

/// <summary>`contracts accounts`: every account of a view, ordered by id, streamed so that memory stays flat.</summary>
public static class AccountsCommand
{
    public static Command Build()
    {
        var on = CommonOptions.On();
        var known = CommonOptions.KnownOrCheckpoint();
        var command = new Command("accounts", "Every account as of a day, as known at a moment; one line each.") { on, known };
        command.SetAction((parse, stop) => Session.RunAsync(
            parse, simulatedClock: false,
            async session =>
            {
                if (await session.ViewOrCheckpointAsync(parse.GetValue(on), parse.GetValue(known), stop).ConfigureAwait(false) is not { } view) { return ExitCodes.Refused; }
                await PrintAsync(session, view.On, view.Known, stop).ConfigureAwait(false);
                return ExitCodes.Done;
            },
            stop));
        return command;
    }

    private static async Task PrintAsync(Session session, LocalDate on, KnownAt known, CancellationToken stop)
    {
        await using var output = Console.OpenStandardOutput();
        await using var buffered = new BufferedStream(output, 1 << 16);
        var lines = AccountLines.AllAsync(session.Store, on, known, session.Format, stop);
        await foreach (var line in lines.ConfigureAwait(false)) { buffered.Write(line.Span); }
    }
}
