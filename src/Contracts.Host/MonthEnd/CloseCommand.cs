using System.CommandLine;
using Contracts.Agreements;
using Contracts.Books;
using Contracts.Host.Running;
using Contracts.Host.Terminal;
using Contracts.Store.Books;
using NodaTime;
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
            month, output, by, title, ChartOption.Chart,
        };
        command.SetAction((parse, stop) => Session.RunAsync(
            parse, simulatedClock: false,
            async session =>
            {
                var (chart, refusal) = ChartOption.Read(parse);
                if (chart is null) { return session.Refuse(refusal!); }
                var origin = parse.GetValue(by);
                var result = await CloseAsync(session, parse.GetValue(month), chart, parse.GetRequiredValue(title), origin, stop).ConfigureAwait(false);
                if (result.Packet is { } packet) { await PacketOutput.WriteAsync(packet, session.Format, parse.GetValue(output), stop).ConfigureAwait(false); }
                return result.Refusal is { } refused ? session.Refuse(refused) : ExitCodes.Done;
            },
            stop));
        return command;
    }

    /// <summary>The billing run comes first, as `contracts bill` would do it: what fell due by the month's end has to be booked.</summary>
    private static async Task<CloseResult> CloseAsync(
        Session session, YearMonth month, Chart chart, string title, string? by, CancellationToken stop)
    {
        var now = await session.Store.Reader.NowAsync(stop).ConfigureAwait(false);
        if (await session.Store.MonthClose.ObstacleAsync(month, now.InZone(Session.Zone).Date, stop).ConfigureAwait(false) is { } obstacle)
        {
            return new CloseResult(null, obstacle);
        }

        var name = YearMonthPattern.Iso.Format(month);
        var bill = new Agreements.Command.Bill(month.OnDayOfMonth(1).PlusMonths(1).PlusDays(-1))
        {
            Origin = new CommandOrigin($"close:{name}:bill:{InstantPattern.ExtendedIso.Format(now)}", by, null),
        };
        await using (var bus = await CommandBus.StartAsync(session.Store, stop).ConfigureAwait(false))
        {
            await bus.BillAsync(bill, null, stop).ConfigureAwait(false);
        }

        return await session.Store.MonthClose.CloseAsync(month, chart, title, new CommandOrigin($"close:{name}", by, null), null, stop).ConfigureAwait(false);
    }
}
