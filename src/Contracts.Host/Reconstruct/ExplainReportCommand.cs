using System.CommandLine;
using Contracts.Host.Terminal;
using Command = System.CommandLine.Command;

namespace Contracts.Host.Reconstruct;

/// <summary>`contracts explain-report`: a figure that sums over contracts, as a tree down to those that add most to it and their events.</summary>
public static class ExplainReportCommand
{
    /// <summary>The command with its arguments and options.</summary>
    public static Command Build()
    {
        var report = new Argument<string>("report") { Description = "portfolio, or books for the trial balance." };
        var figure = new Argument<string>("figure") { Description = "A total of the portfolio, such as pastDue; or the number of an account of the chart, such as 4010." };
        var on = CommonOptions.On();
        var known = CommonOptions.KnownOrCheckpoint();
        var most = new Option<int?>("--most") { Description = "So many contracts are taken apart, the largest first; 20 when left out." };
        var command = new Command("explain-report", "A figure of a report as a tree down to the contracts that add most to it, and their events.")
        {
            report, figure, on, known, most,
        };
        command.SetAction((parse, stop) => Session.RunAsync(
            parse, simulatedClock: false,
            async session =>
            {
                if (await session.ViewOrCheckpointAsync(parse.GetValue(on), parse.GetValue(known), stop).ConfigureAwait(false) is not { } view) { return ExitCodes.Refused; }
                var (tree, refusal) = await ReportReasons.FindAsync(
                    session.Store, parse.GetRequiredValue(report), parse.GetRequiredValue(figure), view.On, view.Known, parse.GetValue(most), stop).ConfigureAwait(false);
                if (refusal is not null) { return session.Refuse(refusal); }
                ExplainCommand.Print(tree!, session.Format);
                return ExitCodes.Done;
            },
            stop));
        return command;
    }
}
