using System.CommandLine;
using Contracts.Host.Terminal;
using Contracts.Store;
using NodaTime;
using Command = System.CommandLine.Command;

namespace Contracts.Host.Replay;

/// <summary>Runs a replaying command on a store or on a file.</summary>
internal static class ReplayRun
{
    /// <summary>It cannot be told whether results are the same; what `git bisect run` passes over.</summary>
    public const int CannotTell = 125;

    /// <summary>
    /// Runs a command whose answer a bisection takes: every code but 0, 1 and 125 would say that the build is bad, so whatever keeps it from telling is 125.
    /// </summary>
    public static async Task<int> TellingAsync(Func<Task<int>> work)
    {
        try
        {
            return await work().ConfigureAwait(false) is var exit && exit is ExitCodes.Failed or ExitCodes.WrongUsage ? CannotTell : exit;
        }
        catch (Exception fault) when (fault is not OperationCanceledException)
        {
            var known = fault is UsageException or IOException or UnauthorizedAccessException or StoreException or FormatException;
            await Console.Error.WriteLineAsync($"contracts: {(known ? fault.Message : fault)}").ConfigureAwait(false);
            return CannotTell;
        }
    }

    /// <summary>Runs work on what the options name; a file opens no database.</summary>
    /// <param name="parse">The command line.</param>
    /// <param name="file">The file in the place of a store, or null.</param>
    /// <param name="law">The law pack to live by, or null.</param>
    /// <param name="view">Up to which moment, and the last day; null for now and today.</param>
    /// <param name="work">The work.</param>
    /// <param name="stop">Gives up.</param>
    public static async Task<int> OnAsync(
        ParseResult parse, FileInfo? file, FileInfo? law, (Instant? Known, LocalDate? Today) view, Func<ReplaySource, OutputFormat, Task<int>> work, CancellationToken stop)
    {
        if (CommonOptions.ParseFormat(parse.GetValue(CommonOptions.Format)) is not { } format) { throw new UsageException("--format is one of table, json, jsonl, csv."); }
        if (file is null)
        {
            return await Session.RunAsync(
                parse, simulatedClock: false,
                async session =>
                {
                    var (today, known) = await session.ViewAsync(view.Today, null, stop).ConfigureAwait(false);
                    var source = await ReplaySource.OfAsync(session.Store, view.Known ?? known, today, stop).ConfigureAwait(false);
                    return await work(await source.UnderAsync(law, stop).ConfigureAwait(false), format).ConfigureAwait(false);
                },
                stop).ConfigureAwait(false);
        }

        try
        {
            var source = await ReplaySource.OfAsync(file, view.Known, view.Today, stop).ConfigureAwait(false);
            return await work(await source.UnderAsync(law, stop).ConfigureAwait(false), format).ConfigureAwait(false);
        }
        catch (Exception fault) when (fault is StoreException or IOException or UnauthorizedAccessException or RefusedLineException)
        {
            await Console.Error.WriteLineAsync($"contracts: {fault.Message}").ConfigureAwait(false);
            return ExitCodes.Failed;
        }
    }
}
