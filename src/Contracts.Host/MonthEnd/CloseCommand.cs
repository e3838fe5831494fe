using System.CommandLine;
using Contracts.Agreements;
using Contracts.Host.Terminal;
using Contracts.Store;
using NodaTime.Text;

namespace Contracts.Host.MonthEnd;

/// <summary>`contracts close`: closes a month for good and prints its packet.</summary>
public static class CloseCommand
{
    public static System.CommandLine.Command Build()
    {
        var month = MonthArgument.Build("The month to close, such as 2026-09.");
        var output = MonthArgument.Output();
        var by = new Option<string?>("--by") { Description = "Who closes the month." };
        var title = new Option<string>("--title") { Description = "The packet's title.", DefaultValueFactory = _ => "Rental programme" };
        var command = new System.CommandLine.Command("close", "Close a month for good: bill it, post its depreciation, check everything, print the packet.")
        {
            month, output, by, title, ChartOption.File,
        };
        command.SetAction((parse, stop) => ChartOption.RunAsync(
            parse,
            async (session, chart) =>
            {
                var wanted = parse.GetValue(month);
                await session.RequireSealedAsync(stop).ConfigureAwait(false);
                var close = new Agreements.Command.Close(wanted)
                {
                    Origin = new CommandOrigin($"close:{YearMonthPattern.Iso.Format(wanted)}", parse.GetValue(by), null),
                };
                var result = await session.Store.MonthClose.CloseAsync(close, chart, parse.GetRequiredValue(title), null, stop).ConfigureAwait(false);
                if (result.Packet is { } packet && result.Outcome is not CommandResult.Already)
                {
                    await PacketOutput.WriteAsync(packet, session.Format, parse.GetValue(output), stop).ConfigureAwait(false);
                }

                return result.Outcome switch
                {
                    CommandResult.Refused refused => session.Refuse(refused.Refusal),
                    CommandResult.Already => session.Refuse(new Refusal(
                        RefusalCode.MonthAlreadyClosed, $"{YearMonthPattern.Iso.Format(wanted)} is closed, and a closed month is never opened again.", "month",
                        YearMonthPattern.Iso.Format(wanted.PlusMonths(1)))),
                    _ => ExitCodes.Done,
                };
            },
            stop));
        return command;
    }
}
