using System.CommandLine;
using Contracts.Agreements;
using Contracts.Host.Terminal;
using NodaTime.Text;

namespace Contracts.Host.MonthEnd;

/// <summary>`contracts packet`: makes the packet of a closed month again, and says whether it is the same to the byte.</summary>
public static class PacketCommand
{
    public static System.CommandLine.Command Build()
    {
        var month = MonthArgument.Build("A closed month, such as 2026-09.");
        var output = MonthArgument.Output();
        var command = new System.CommandLine.Command("packet", "Make the packet of a closed month again, and hold it against what the close recorded.") { month, output };
        command.SetAction((parse, stop) => Session.RunAsync(
            parse, simulatedClock: false,
            async session =>
            {
                var wanted = parse.GetValue(month);
                var (packet, isSame) = await session.Store.MonthClose.MakeAgainAsync(wanted, stop).ConfigureAwait(false);
                if (packet is null)
                {
                    return session.Refuse(new Refusal(RefusalCode.MonthNotClosed, $"{YearMonthPattern.Iso.Format(wanted)} has not been closed.", "month"));
                }

                await PacketOutput.WriteAsync(packet, session.Format, parse.GetValue(output), stop).ConfigureAwait(false);
                await Console.Error.WriteLineAsync(isSame
                    ? "The same packet as at the close, to the byte."
                    : "NOT the packet of the close: what is stored, or how a packet is made, has changed since.").ConfigureAwait(false);
                return isSame ? ExitCodes.Done : ExitCodes.Failed;
            },
            stop));
        return command;
    }
}
