using System.CommandLine;
using System.Text.Json;
using Contracts.Agreements;
using Contracts.Disclosures;
using Contracts.History;
using Contracts.Host.Terminal;
using NodaTime;
using NodaTime.Text;
using Spectre.Console;
using Command = System.CommandLine.Command;

namespace Contracts.Host.Reconstruct;

/// <summary>`contracts totals`: each total that papers show, with the events that make it.</summary>
public static class TotalsCommand
{
    public static Command Build()
    {
        var contract = new Argument<string>("contract") { Description = "The contract's id, such as C-1042." };
        var figure = new Option<string?>("--figure") { Description = "One total only, such as paid.rent or remainingBySchedule." };
        var on = CommonOptions.On();
        var known = CommonOptions.KnownOrCheckpoint();
        var command = new Command("totals", "The totals that receipts and statements show, each as the events that make it.") { contract, figure, on, known };
        command.SetAction((parse, stop) => Session.RunAsync(
            parse, simulatedClock: false,
            async session =>
            {
                if (await session.ViewOrCheckpointAsync(parse.GetValue(on), parse.GetValue(known), stop).ConfigureAwait(false) is not { } view) { return ExitCodes.Refused; }
                var id = parse.GetRequiredValue(contract);
                var history = await session.Store.Reader.HistoryAsync(id, view.Known, stop).ConfigureAwait(false);
                var rates = await session.Store.Reader.RatesAsync(view.Known, stop).ConfigureAwait(false);
                if (history is null || AccountFold.At(history, rates, view.On) is not { } state)
                {
                    return session.Refuse(new Refusal(
                        RefusalCode.ContractUnknown, $"No contract {id} was signed by that day, as known at that moment.", "contract"));
                }

                var all = TracedTotal.Of(state);
                var wanted = parse.GetValue(figure);
                if (wanted is not null && all.All(total => total.Figure != wanted))
                {
                    throw new UsageException($"--figure is one of {string.Join(", ", all.Select(total => total.Figure))}.");
                }

                foreach (var total in all.Where(total => wanted is null || total.Figure == wanted)) { Print(total, session.Format); }
                return ExitCodes.Done;
            },
            stop));
        return command;
    }

    private static void Print(TracedTotal total, OutputFormat format)
    {
        if (format != OutputFormat.Table)
        {
            Console.Out.WriteLine(Json(total));
            return;
        }

        Console.Out.WriteLine($"{total.Figure}  {total.Amount}");
        if (total.Parts.IsEmpty) { return; }
        var table = AccountPrinter.Plain().AddColumns("event", "on", "key", "what of it").AddColumn(new TableColumn("amount").RightAligned());
        foreach (var part in total.Parts)
        {
            table.AddRow(
                part.Sequence.ToString(System.Globalization.CultureInfo.InvariantCulture), Iso(part.On), Markup.Escape(part.Key), Markup.Escape(part.Says), part.Amount.ToString());
        }

        AnsiConsole.Write(table);
    }

    /// <summary>One total as JSON.</summary>
    public static string Json(TracedTotal total) => AccountPrinter.Json(json => Write(json, total));

    private static void Write(Utf8JsonWriter json, TracedTotal total)
    {
        json.WriteStartObject();
        json.WriteString("figure", total.Figure);
        json.WriteString("amount", total.Amount.ToString());
        json.WriteStartArray("events");
        foreach (var part in total.Parts)
        {
            json.WriteStartObject();
            json.WriteNumber("sequence", part.Sequence);
            json.WriteString("on", Iso(part.On));
            json.WriteString("key", part.Key);
            json.WriteString("says", part.Says);
            json.WriteString("amount", part.Amount.ToString());
            json.WriteEndObject();
        }

        json.WriteEndArray();
        json.WriteEndObject();
    }

    private static string Iso(LocalDate day) => LocalDatePattern.Iso.Format(day);
}
