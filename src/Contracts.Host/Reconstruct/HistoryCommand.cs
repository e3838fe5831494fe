using System.CommandLine;
using System.Text.Json;
using Contracts.Agreements;
using Contracts.History;
using Contracts.Host.Terminal;
using NodaTime.Text;
using Spectre.Console;
using Command = System.CommandLine.Command;

namespace Contracts.Host.Reconstruct;

/// <summary>`contracts history`: every event of a contract with both dates, who, why, its cause and what it moved.</summary>
public static class HistoryCommand
{
    public static Command Build()
    {
        var contract = new Argument<string>("contract") { Description = "The contract's id, such as C-1042." };
        var known = CommonOptions.KnownOrCheckpoint();
        var stored = new Option<bool>("--stored") { Description = "As they are stored: each event's data and what was noted with it, as JSON." };
        var kind = new Option<string?>("--kind") { Description = $"Only events of a kind: {string.Join(", ", EventKinds.Words)}, or a stored name such as fee_waived." };
        kind.CompletionSources.Add([.. EventKinds.All]);
        var command = new Command("history", "The events of one contract in the order in which they were recorded.") { contract, known, kind, stored };
        command.SetAction((parse, stop) => Session.RunAsync(
            parse, simulatedClock: false,
            async session =>
            {
                if (EventKinds.Unfit(parse.GetValue(kind)) is { } unfit) { return session.Refuse(unfit); }
                if (parse.GetValue(stored) && parse.GetValue(kind) is not null) { throw new UsageException("--stored shows every event; --kind goes without it."); }
                if (await session.ViewOrCheckpointAsync(null, parse.GetValue(known), stop).ConfigureAwait(false) is not { Known: var moment }) { return ExitCodes.Refused; }
                var id = parse.GetRequiredValue(contract);
                var history = await session.Store.Reader.HistoryAsync(id, moment, stop).ConfigureAwait(false);
                if (history is not { IsSigned: true })
                {
                    return session.Refuse(new Refusal(RefusalCode.ContractUnknown, $"No contract {id} was signed.", "contract"));
                }

                if (parse.GetValue(stored))
                {
                    Console.Out.WriteLine(StoredEvents.Json(history, households: true));
                    return ExitCodes.Done;
                }

                var rates = await session.Store.Reader.RatesAsync(moment, stop).ConfigureAwait(false);
                Print(EventKinds.Choose(HistoryLine.Of(history, rates), parse.GetValue(kind)), session.Format);
                return ExitCodes.Done;
            },
            stop));
        return command;
    }

    public static void Print(IReadOnlyList<HistoryLine> lines, OutputFormat format)
    {
        switch (format)
        {
            case OutputFormat.Table: PrintTable(lines); break;
            case OutputFormat.Csv: PrintCsv(lines); break;
            case OutputFormat.Jsonl:
                foreach (var line in lines) { Console.Out.WriteLine(AccountPrinter.Json(json => Write(json, line))); }
                break;
            default:
                Console.Out.WriteLine(Json(lines));
                break;
        }
    }

    /// <summary>The events as one JSON list.</summary>
    public static string Json(IReadOnlyList<HistoryLine> lines) => AccountPrinter.Json(json =>
    {
        json.WriteStartArray();
        foreach (var line in lines) { Write(json, line); }
        json.WriteEndArray();
    });

    private static void PrintTable(IReadOnlyList<HistoryLine> lines)
    {
        var table = AccountPrinter.Plain().AddColumns("on", "recorded (UTC)", "event").AddColumn(new TableColumn("money").RightAligned())
            .AddColumns("by", "reason or cause");
        foreach (var line in lines)
        {
            var remark = line.Overtaken ? "overtaken by what is known now" : line.Entry.Reason ?? (line.Entry.Cause is { } c ? $"because of {c}" : "");
            table.AddRow(
                LocalDatePattern.Iso.Format(line.Entry.Event.On),
                line.Entry.At.ToString("uuuu-MM-dd HH:mm", null),
                Markup.Escape(line.What), Markup.Escape(line.Money?.ToString() ?? ""),
                Markup.Escape(line.Entry.Approved is { } second ? $"{line.Entry.Actor}, approved by {second}" : line.Entry.Actor ?? ""), Markup.Escape(remark));
        }

        AnsiConsole.Write(table);
    }

    private static void PrintCsv(IReadOnlyList<HistoryLine> lines)
    {
        Console.Out.WriteLine("sequence,on,recordedAt,event,says,money,by,reason,cause,key,overtaken");
        foreach (var line in lines)
        {
            Console.Out.WriteLine(string.Join(
                ',', line.Entry.Sequence, LocalDatePattern.Iso.Format(line.Entry.Event.On),
                InstantPattern.ExtendedIso.Format(line.Entry.At), line.Name, AccountCsv.Cell(line.What), line.Money?.ToString() ?? "",
                AccountCsv.Cell(line.Entry.Actor ?? ""), AccountCsv.Cell(line.Entry.Reason ?? ""),
                AccountCsv.Cell(line.Entry.Cause ?? ""), AccountCsv.Cell(line.Entry.Key), line.Overtaken ? "true" : "false"));
        }
    }

    private static void Write(Utf8JsonWriter json, HistoryLine line)
    {
        json.WriteStartObject();
        json.WriteNumber("sequence", line.Entry.Sequence);
        json.WriteString("on", LocalDatePattern.Iso.Format(line.Entry.Event.On));
        json.WriteString("recordedAt", InstantPattern.ExtendedIso.Format(line.Entry.At));
        json.WriteString("event", line.Name);
        json.WriteString("says", line.What);
        Optional(json, "money", line.Money?.ToString());
        Optional(json, "by", line.Entry.Actor);
        Optional(json, "reason", line.Entry.Reason);
        Optional(json, "cause", line.Entry.Cause);
        Optional(json, "approvedBy", line.Entry.Approved);
        Optional(json, "trace", line.Entry.Trace);
        json.WriteString("key", line.Entry.Key);
        json.WriteBoolean("overtaken", line.Overtaken);
        if (TakenOver.Of(line.Entry.Key) is { } mark) { Write(json, mark); }
        json.WriteEndObject();
    }

    private static void Write(Utf8JsonWriter json, TakenOver mark)
    {
        json.WriteStartObject("takenOver");
        json.WriteString("book", mark.Book);
        json.WriteString("file", mark.IsPayment ? "payments" : "contracts");
        json.WriteNumber("line", mark.Line);
        json.WriteBoolean("deemed", mark.IsDeemed);
        json.WriteEndObject();
    }

    private static void Optional(Utf8JsonWriter json, string name, string? value)
    {
        if (value is not null) { json.WriteString(name, value); }
    }
}
