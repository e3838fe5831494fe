using System.CommandLine;
using Contracts.Host.Terminal;

namespace Contracts.Host.Sealing;

/// <summary>`contracts seal`: seals what waits, and prints the signed checkpoint, which is what one publishes.</summary>
public static class SealCommand
{
    public static Command Build()
    {
        var anchor = new Option<bool>("--anchor") { Description = "Commit to the heads of all streams as well, so that completeness can be proved up to now." };
        var command = new Command("seal", "Seal every event that is not sealed yet and print the signed checkpoint; exit 3 when something stands in the way.") { anchor };
        command.SetAction((parse, stop) => Session.RunAsync(
            parse, simulatedClock: false,
            async session =>
            {
                var report = await session.Store.SealerWith(session.Signer).SealAsync(parse.GetValue(anchor), stop).ConfigureAwait(false);
                SealPrinter.Print(report, session.Format);
                foreach (var alarm in report.Alarms) { await Console.Error.WriteLineAsync($"contracts: {SealPrinter.Words(alarm)}").ConfigureAwait(false); }
                return report.Alarms.Count == 0 ? ExitCodes.Done : ExitCodes.Failed;
            },
            stop));
        return command;
    }
}
