using System.CommandLine;
using System.Text.Json;
using Contracts.Agreements;
using Contracts.Host.Reconstruct;
using Contracts.Host.Running;
using Contracts.Host.Terminal;
using Contracts.Store;
using NodaTime;
using NodaTime.Text;

namespace Contracts.Host.Counter;

/// <summary>`contracts bill`: records what fell due through a day, for every contract. It never changes a figure.</summary>
public static class BillCommand
{
    public static System.CommandLine.Command Build()
    {
        var through = CommonOptions.On("--through");
        through.Description = "The last day to bill, such as 2026-12-31; today when left out.";
        var by = new Option<string?>("--by") { Description = "Who gives the command." };
        var command = new System.CommandLine.Command("bill", "The billing run: records the installments and fees that fell due.") { through, by };
        command.SetAction((parse, stop) => Session.RunAsync(
            parse, simulatedClock: false,
            async session =>
            {
                var now = await session.Store.Reader.NowAsync(stop).ConfigureAwait(false);
                var day = parse.GetValue(through) ?? now.InZone(Session.Zone).Date;
                var origin = new CommandOrigin($"bill:{LocalDatePattern.Iso.Format(day)}:{InstantPattern.ExtendedIso.Format(now)}", parse.GetValue(by), null);
                var bill = new Agreements.Command.Bill(day) { Origin = origin };
                await using var bus = await CommandBus.StartAsync(session.Store, stop).ConfigureAwait(false);
                var result = await bus.BillAsync(bill, null, stop).ConfigureAwait(false);
                return Tell(session, day, result);
            },
            stop));
        return command;
    }

    private static int Tell(Session session, LocalDate through, CommandResult result)
    {
        switch (result)
        {
            case CommandResult.Refused refused: return session.Refuse(refused.Refusal);
            case CommandResult.Applied applied when session.Format is OutputFormat.Json or OutputFormat.Jsonl:
                Console.Out.WriteLine(AccountPrinter.Json(json => Write(json, through, applied)));
                return ExitCodes.Done;
            case CommandResult.Applied applied:
                Console.Out.WriteLine($"billed through {LocalDatePattern.Iso.Format(through)}: {applied.Events} new notes");
                return ExitCodes.Done;
            default: return ExitCodes.Done;
        }
    }

    private static void Write(Utf8JsonWriter json, LocalDate through, CommandResult.Applied applied)
    {
        json.WriteStartObject();
        json.WriteString("through", LocalDatePattern.Iso.Format(through));
        json.WriteString("recordedAt", InstantPattern.ExtendedIso.Format(applied.RecordedAt));
        json.WriteNumber("events", applied.Events);
        json.WriteEndObject();
    }
}
