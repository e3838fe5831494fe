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
        by.Validators.Add(result =>
        {
            if (result.GetValueOrDefault<string?>() is { Length: 0 or > 200 }) { result.AddError("--by needs 1 to 200 characters."); }
        });
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
                var result = await bus.RunAsync(new CommandRequest(bill, null), stop).ConfigureAwait(false);
                return Tell(session, day, result);
            },
            stop));
        return command;
    }

    private static int Tell(Session session, LocalDate through, CommandResult result)
    {
        if (result is CommandResult.Refused refused) { return session.Refuse(refused.Refusal); }
        var (at, events) = result switch
        {
            CommandResult.Applied done => (done.RecordedAt, done.Events),
            CommandResult.Already done => (done.RecordedAt, 0),
            _ => throw new System.Diagnostics.UnreachableException("No words for this result."),
        };
        Console.Out.WriteLine(session.Format == OutputFormat.Table
            ? $"billed through {LocalDatePattern.Iso.Format(through)}: {events} new notes"
            : AccountPrinter.Json(json => Write(json, through, at, events)));
        return ExitCodes.Done;
    }

    private static void Write(Utf8JsonWriter json, LocalDate through, Instant at, int events)
    {
        json.WriteStartObject();
        json.WriteString("through", LocalDatePattern.Iso.Format(through));
        json.WriteString("recordedAt", InstantPattern.ExtendedIso.Format(at));
        json.WriteNumber("events", events);
        json.WriteEndObject();
    }
}
