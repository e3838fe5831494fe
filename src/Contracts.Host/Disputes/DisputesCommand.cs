using System.CommandLine;
using Contracts.Host.Terminal;

namespace Contracts.Host.Disputes;

/// <summary>`contracts disputes`: what families say is wrong, how far each dispute is, and both readings of the day in question.</summary>
public static class DisputesCommand
{
    public static Command Build()
    {
        var contract = new Option<string?>("--contract") { Description = "Only those of one contract." };
        var all = new Option<bool>("--all") { Description = "Those that are closed too." };
        var on = CommonOptions.On();
        var known = CommonOptions.KnownOrCheckpoint();
        var command = new Command("disputes", "What families say is wrong, how far each dispute is, and both readings of the day in question.") { contract, all, on, known };
        command.SetAction((parse, stop) => Session.RunAsync(
            parse, simulatedClock: false,
            async session =>
            {
                if (await session.ViewOrCheckpointAsync(parse.GetValue(on), parse.GetValue(known), stop).ConfigureAwait(false) is not { } view) { return ExitCodes.Refused; }
                DisputesPrinter.Print(
                    await DisputesLook.ReadAsync(session.Store, view.On, view.Known, parse.GetValue(contract), parse.GetValue(all), stop).ConfigureAwait(false), session.Format);
                return ExitCodes.Done;
            },
            stop));
        return command;
    }
}
