using System.CommandLine;
using Contracts.Host.Terminal;
using Command = System.CommandLine.Command;

namespace Contracts.Host.Replay;

/// <summary>`contracts differ`: where this build's figures and postings first part from recorded ones, by cause.</summary>
public static class DifferCommand
{
    private const int Parts = 1;

    /// <summary>The command with its argument and options.</summary>
    public static Command Build()
    {
        var results = new Argument<FileInfo>("results") { Description = "A file that `contracts results` of another build has written." };
        var file = ReplaySource.FileOption();
        var law = ReplaySource.LawOption();
        var command = new Command(
            "differ", "Hold this build against the results of another: exit 0 when all is the same, 1 when something parts, 125 when it cannot be told.") { results, file, law };
        command.SetAction((parse, stop) => ReplayRun.TellingAsync(() =>
        {
            var recorded = parse.GetRequiredValue(results);
            if (!recorded.Exists) { throw new UsageException($"There is no file {recorded.Name}."); }
            return RunAsync(parse, recorded, parse.GetValue(file), parse.GetValue(law), stop);
        }));
        return command;
    }

    private static async Task<int> RunAsync(ParseResult parse, FileInfo recorded, FileInfo? file, FileInfo? law, CancellationToken stop)
    {
        try
        {
            var (header, lines) = await ResultsFile.OpenAsync(recorded, stop).ConfigureAwait(false);
            await using (lines.ConfigureAwait(false))
            {
                return await ReplayRun.OnAsync(
                    parse, file, law, (header.Known, header.Today),
                    async (source, format) =>
                    {
                        var report = await BuildDiffer.RunAsync(source, header, lines, stop).ConfigureAwait(false);
                        await DifferPrinter.PrintAsync(report, source, format, stop).ConfigureAwait(false);
                        return report.Same ? ExitCodes.Done : Parts;
                    },
                    stop).ConfigureAwait(false);
            }
        }
        catch (Exception wrong) when (wrong is FormatException or InvalidDataException)
        {
            await Console.Error.WriteLineAsync($"contracts: {recorded.Name} is no results file: {wrong.Message}").ConfigureAwait(false);
            return ReplayRun.CannotTell;
        }
    }
}
