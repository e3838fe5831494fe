using System.CommandLine;
using Contracts.Host.Terminal;

namespace Contracts.Host.Reconstruct;

/// <summary>`contracts accounts`: every account of a view, ordered by id, streamed so that memory stays flat.</summary>
public static class AccountsCommand
{
    public static Command Build()
    {
        var on = CommonOptions.On();
        var known = CommonOptions.KnownOrCheckpoint();
        var where = new Option<string[]>("--where")
        {
            Description = $"Only accounts with NAME=VALUE; given several times, all have to hold. Names: {string.Join(", ", AccountMarks.Names)}.",
        };
        where.CompletionSources.Add([.. AccountMarks.Names.Select(name => $"{name}="), .. AccountMarks.Meetings.Select(met => $"{AccountMarks.Met}={met}")]);
        var command = new Command("accounts", "Every account as of a day, as known at a moment; one line each.") { on, known, where };
        command.SetAction((parse, stop) => Session.RunAsync(
            parse, simulatedClock: false,
            async session =>
            {
                if (await session.ViewOrCheckpointAsync(parse.GetValue(on), parse.GetValue(known), stop).ConfigureAwait(false) is not { } view) { return ExitCodes.Refused; }
                var (filter, unfit) = AccountFilter.Read((parse.GetValue(where) ?? []).Select(Pair));
                if (filter is null) { return session.Refuse(unfit!); }
                var (sieve, refusal) = await AccountSieve.ForAsync(session.Store, filter, view.On, view.Known, stop).ConfigureAwait(false);
                if (sieve is null) { return session.Refuse(refusal!); }
                await PrintAsync(session, sieve, stop).ConfigureAwait(false);
                return ExitCodes.Done;
            },
            stop));
        return command;
    }

    private static (string Name, string? Value) Pair(string text) =>
        text.IndexOf('=', StringComparison.Ordinal) is > 0 and var at ? (text[..at], text[(at + 1)..]) : (text, "?");

    private static async Task PrintAsync(Session session, AccountSieve sieve, CancellationToken stop)
    {
        await using var output = Console.OpenStandardOutput();
        await using var buffered = new BufferedStream(output, 1 << 16);
        var lines = AccountLines.AllAsync(session.Store, sieve, session.Format, stop);
        await foreach (var line in lines.ConfigureAwait(false)) { buffered.Write(line.Span); }
    }
}
