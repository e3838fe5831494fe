using System.CommandLine;
using Contracts.Agreements;
using Contracts.History;
using Contracts.Host.Terminal;
using Command = System.CommandLine.Command;

namespace Contracts.Host.Reconstruct;

/// <summary>`contracts due`: the due dates that remain, for a family's calendar.</summary>
public static class DueCommand
{
    public static Command Build()
    {
        var contract = new Argument<string>("contract") { Description = "The contract's id, such as C-1042." };
        var on = CommonOptions.On();
        var known = CommonOptions.KnownOrCheckpoint();
        var file = new Option<string>("--out") { Description = "The file, such as C-1042.ics; - for standard output.", Required = true };
        var command = new Command("due", "The due dates that remain as a calendar file (.ics).") { contract, on, known, file };
        command.SetAction((parse, stop) => Session.RunAsync(
            parse, simulatedClock: false,
            async session =>
            {
                if (await session.ViewOrCheckpointAsync(parse.GetValue(on), parse.GetValue(known), stop) is not { } view) { return ExitCodes.Refused; }
                var id = parse.GetRequiredValue(contract);
                var history = await session.Store.Reader.HistoryAsync(id, view.Known, stop);
                if (history is null || AccountFold.At(history, await session.Store.Reader.RatesAsync(view.Known, stop), view.On) is not { } state)
                {
                    return session.Refuse(new Refusal(
                        RefusalCode.ContractUnknown, $"No contract {id} was signed by that day, as known at that moment.", "contract"));
                }

                var bytes = DueCalendar.Of(state, view.Known.At, await session.Store.Seals.OriginAsync(stop));
                if (parse.GetRequiredValue(file) is not "-" and var path) { await File.WriteAllBytesAsync(path, bytes, stop); }
                else
                {
                    await using var output = Console.OpenStandardOutput();
                    await output.WriteAsync(bytes, stop);
                }

                return ExitCodes.Done;
            },
            stop));
        return command;
    }
}
