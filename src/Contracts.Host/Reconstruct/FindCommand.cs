using System.CommandLine;
using System.Text.Json;
using Contracts.History;
using Contracts.Host.Terminal;
using Contracts.Store;
using NodaTime;
using Npgsql;
using Spectre.Console;
using Command = System.CommandLine.Command;

namespace Contracts.Host.Reconstruct;

/// <summary>A contract in a list: what found it, and where it stands today.</summary>
public sealed record FoundLine(Found Found, string Kind, string Status, Money Equity, Money PastDue);

/// <summary>`contracts find`: the contracts that go with what is in hand.</summary>
public static class FindCommand
{
    /// <summary>What may be in hand.</summary>
    public const string WhatFinds =
        "A contract's id or its beginning, a household's reference or telephone number, a serial number, a receipt's or payment's reference or key.";

    private const int LongestText = 200;

    public static Command Build()
    {
        var text = new Argument<string>("text") { Description = WhatFinds };
        var by = new Option<string>("--by") { Description = "Who looks; with it, and a purpose, a telephone number is looked for too." };
        var purpose = new Option<string>("--purpose") { Description = "Why; kept beside who looks for each household that is found." };
        var command = new Command("find", "The contracts that go with what is in hand, as they stand today.") { text, by, purpose };
        command.SetAction((parse, stop) => Session.RunAsync(
            parse, simulatedClock: false,
            async session =>
            {
                var who = parse.GetValue(by) is { Length: > 0 } name && parse.GetValue(purpose) is { Length: > 0 } why ? (name, why) : ((string, string)?)null;
                Print(await LookAsync(session.Store, parse.GetRequiredValue(text), households: true, who, stop).ConfigureAwait(false), session.Format);
                return ExitCodes.Done;
            },
            stop));
        return command;
    }

    /// <summary>What a text finds, at most fifty contracts, each as it stands today or, signed for a day to come, on that day.</summary>
    /// <param name="store">The store.</param>
    /// <param name="text">What is in hand.</param>
    /// <param name="households">Whether who asks may see households; else one is not found by its reference.</param>
    /// <param name="who">Who asks and why, which is kept where a telephone number finds somebody; null looks for none.</param>
    /// <param name="stop">Gives up.</param>
    internal static async Task<IReadOnlyList<FoundLine>> LookAsync(
        ContractsStore store, string text, bool households, (string By, string Purpose)? who, CancellationToken stop)
    {
        if (text.Length > LongestText) { return []; }
        var found = (await store.Finder.FindAsync(text, stop).ConfigureAwait(false)).Where(one => households || one.By != "household").ToList();
        if (households && who is { } reader) { await AddByTelephoneAsync(store, text, reader, found, stop).ConfigureAwait(false); }
        return await StandAsync(store, found, stop).ConfigureAwait(false);
    }

    /// <summary>The contracts of the families that have a number. The list shows the household's reference, never what is sealed.</summary>
    private static async Task AddByTelephoneAsync(
        ContractsStore store, string text, (string By, string Purpose) who, List<Found> found, CancellationToken stop)
    {
        try
        {
            var now = await store.Reader.NowAsync(stop).ConfigureAwait(false);
            foreach (var household in await store.Households.FindByTelephoneAsync(text, who.By, who.Purpose, stop).ConfigureAwait(false))
            {
                var histories = await store.Reader.OfHouseholdAsync(household, now, stop).ConfigureAwait(false);
                found.AddRange(histories.Select(one => new Found(one.Contract, "telephone", household)));
            }
        }
        catch (NpgsqlException) when (store.IsGuarded && store.Connection.Personal is null)
        {
            // This login cannot reach the vault: a number finds nothing here, as with no keys.
        }
    }

    /// <summary>Where contracts stand.</summary>
    internal static async Task<IReadOnlyList<FoundLine>> StandAsync(ContractsStore store, IReadOnlyList<Found> found, CancellationToken stop)
    {
        var known = await store.Reader.NowAsync(stop).ConfigureAwait(false);
        var day = known.InZone(Session.Zone).Date;
        var rates = await store.Reader.RatesAsync(known, stop).ConfigureAwait(false);
        var lines = new List<FoundLine>();
        foreach (var one in found)
        {
            if (await store.Reader.HistoryAsync(one.Contract, known, stop).ConfigureAwait(false) is not { IsSigned: true } history) { continue; }
            if (AccountFold.At(history, rates, LocalDate.Max(day, history.Signing.On)) is not { } state) { continue; }
            lines.Add(new FoundLine(one, state.Kind, state.StatusWord, state.Equity, state.PastDue));
        }

        return lines;
    }

    /// <summary>What was found, as one JSON list.</summary>
    internal static string Json(IReadOnlyList<FoundLine> lines) => AccountPrinter.Json(json =>
    {
        json.WriteStartArray();
        foreach (var line in lines) { Write(json, line); }
        json.WriteEndArray();
    });

    private static void Print(IReadOnlyList<FoundLine> lines, OutputFormat format)
    {
        switch (format)
        {
            case OutputFormat.Table when lines.Count == 0:
                Console.Out.WriteLine("Nothing is recorded as that. Names are sealed and cannot be searched; a telephone number is looked for with --by and --purpose.");
                break;
            case OutputFormat.Table: PrintTable(lines); break;
            case OutputFormat.Csv:
                Console.Out.WriteLine("contract,by,what,kind,status,equity,pastDue");
                foreach (var one in lines)
                {
                    Console.Out.WriteLine(string.Join(
                        ',', AccountCsv.Cell(one.Found.Contract), one.Found.By, AccountCsv.Cell(one.Found.What), AccountCsv.Cell(one.Kind), one.Status, one.Equity, one.PastDue));
                }

                break;
            case OutputFormat.Jsonl:
                foreach (var line in lines) { Console.Out.WriteLine(AccountPrinter.Json(json => Write(json, line))); }
                break;
            default: Console.Out.WriteLine(Json(lines)); break;
        }
    }

    private static void PrintTable(IReadOnlyList<FoundLine> lines)
    {
        var table = AccountPrinter.Plain().AddColumns("contract", "found by", "instrument", "standing")
            .AddColumn(new TableColumn("equity").RightAligned()).AddColumn(new TableColumn("past due").RightAligned());
        foreach (var one in lines)
        {
            table.AddRow(
                Markup.Escape(one.Found.Contract), Markup.Escape($"{one.Found.By} {one.Found.What}"), Markup.Escape(one.Kind), one.Status,
                one.Equity.ToString(), one.PastDue.ToString());
        }

        AnsiConsole.Write(table);
    }

    private static void Write(Utf8JsonWriter json, FoundLine line)
    {
        json.WriteStartObject();
        json.WriteString("contract", line.Found.Contract);
        json.WriteString("by", line.Found.By);
        json.WriteString("what", line.Found.What);
        json.WriteString("kind", line.Kind);
        json.WriteString("status", line.Status);
        json.WriteString("equity", line.Equity.ToString());
        json.WriteString("pastDue", line.PastDue.ToString());
        json.WriteEndObject();
    }
}
