using System.Text.Json;
using Contracts.Host.Reconstruct;
using Contracts.Host.Terminal;
using Contracts.Store.TakeOver;
using Contracts.TakeOver;
using NodaTime.Text;
using Spectre.Console;

namespace Contracts.Host.TakeOver;

/// <summary>What became of a book: for programs as JSON, for people as the reconciliation of its totals.</summary>
internal static class TakeOverPrinter
{
    /// <summary>More lines than this are counted and not listed.</summary>
    public const int MostListed = 100;

    public static void Print(BookReading reading, TakeOverOutcome outcome, bool dryRun, OutputFormat format)
    {
        if (format != OutputFormat.Table)
        {
            Console.Out.WriteLine(Json(reading, outcome, dryRun));
            return;
        }

        AnsiConsole.WriteLine($"book '{reading.Shape.Book}' ({reading.Shape.Digest}), as of {LocalDatePattern.Iso.Format(reading.Totals.AsOf)}: {Words(outcome, dryRun)}");
        if (reading.Book is { } book)
        {
            AnsiConsole.WriteLine($"  {book.Contracts.Count} contracts, {book.Payments.Count} payments named, {outcome.Deemed} deemed made");
        }

        if (outcome.Reconciliation is { } compared) { PrintTotals(compared); }
        foreach (var fault in outcome.Faults.Take(MostListed)) { AnsiConsole.WriteLine($"  {fault.Refusal.Slug}: {fault.Refusal.Detail}"); }
        if (outcome.Faults.Count > MostListed) { AnsiConsole.WriteLine($"  and {outcome.Faults.Count - MostListed} more"); }
        AnsiConsole.WriteLine("Disclosures given under the old book are not made again here. Rules vary by state; ask local counsel, and an accountant for the opening balances.");
    }

    private static void PrintTotals(Reconciliation compared)
    {
        var table = AccountPrinter.Plain().AddColumn("total").AddColumn(new TableColumn("the shop's").RightAligned()).AddColumn(new TableColumn("the book's").RightAligned())
            .AddColumn(new TableColumn("difference").RightAligned()).AddColumn("look at");
        foreach (var total in compared.Totals)
        {
            table.AddRow(total.Figure, total.Theirs, total.Ours, total.Holds ? "" : total.Difference, Markup.Escape(string.Join("; ", total.Likely)));
        }

        AnsiConsole.Write(table);
        if (compared.LinesCompared == 0) { return; }
        AnsiConsole.WriteLine($"  {compared.LinesCompared} figures of single contracts compared, {compared.Lines.Count} differ");
        foreach (var line in compared.Lines.Take(MostListed))
        {
            AnsiConsole.WriteLine($"  line {line.Row.Line}, {line.Row.Header(line.Figure)}: {line.Contract} has {line.Theirs} in the book, {line.Ours} by its facts");
        }
    }

    private static string Words(TakeOverOutcome outcome, bool dryRun) => Status(outcome, dryRun) switch
    {
        "recorded" => $"recorded, {outcome.Events} events",
        "tried" => $"tried, it would be recorded with {outcome.Events} events; nothing was",
        "already" => "taken over before, nothing was changed",
        _ => "refused, nothing was recorded",
    };

    private static string Status(TakeOverOutcome outcome, bool dryRun) => outcome switch
    {
        { Refusal: not null } => "refused",
        { Already: true } => "already",
        _ => dryRun ? "tried" : "recorded",
    };

    /// <summary>The answer as JSON, in the shape of docs/take-over.md.</summary>
    public static string Json(BookReading reading, TakeOverOutcome outcome, bool dryRun) => AccountPrinter.Json(json =>
    {
        json.WriteStartObject();
        json.WriteString("book", reading.Shape.Book);
        json.WriteString("digest", reading.Shape.Digest);
        json.WriteString("asOf", LocalDatePattern.Iso.Format(reading.Totals.AsOf));
        json.WriteString("status", Status(outcome, dryRun));
        if (outcome.Recorded is { } at) { json.WriteString("recordedAt", InstantPattern.ExtendedIso.Format(at)); }
        json.WriteNumber("contracts", reading.Book?.Contracts.Count ?? 0);
        json.WriteNumber("payments", reading.Book?.Payments.Count ?? 0);
        json.WriteNumber("deemed", outcome.Deemed);
        json.WriteNumber("events", outcome.Events);
        Totals(json, outcome.Reconciliation);
        Lines(json, outcome.Reconciliation);
        Faults(json, outcome.Faults);
        json.WriteEndObject();
    });

    private static void Totals(Utf8JsonWriter json, Reconciliation? compared)
    {
        json.WriteStartArray("totals");
        foreach (var total in compared?.Totals ?? [])
        {
            json.WriteStartObject();
            json.WriteString("total", total.Figure);
            json.WriteString("theirs", total.Theirs);
            json.WriteString("ours", total.Ours);
            json.WriteString("difference", total.Difference);
            json.WriteStartArray("likely");
            foreach (var likely in total.Likely) { json.WriteStringValue(likely); }
            json.WriteEndArray();
            json.WriteEndObject();
        }

        json.WriteEndArray();
    }

    private static void Lines(Utf8JsonWriter json, Reconciliation? compared)
    {
        json.WriteNumber("figuresCompared", compared?.LinesCompared ?? 0);
        json.WriteStartArray("differ");
        foreach (var line in (compared?.Lines ?? []).Take(MostListed))
        {
            json.WriteStartObject();
            json.WriteNumber("line", line.Row.Line);
            json.WriteString("column", line.Row.Header(line.Figure));
            json.WriteString("contract", line.Contract);
            json.WriteString("figure", line.Figure);
            json.WriteString("theirs", line.Theirs.ToString());
            json.WriteString("ours", line.Ours.ToString());
            json.WriteEndObject();
        }

        json.WriteEndArray();
    }

    private static void Faults(Utf8JsonWriter json, IReadOnlyList<BookFault> faults)
    {
        json.WriteStartArray("refused");
        foreach (var fault in faults.Take(MostListed))
        {
            json.WriteStartObject();
            json.WriteString("file", fault.IsPayment ? "payments" : "contracts");
            json.WriteNumber("line", fault.Line);
            if (fault.Column is { } column) { json.WriteString("column", column); }
            json.WriteString("code", fault.Cause.Slug);
            json.WriteString("detail", fault.Cause.Detail);
            if (fault.Cause.RightFigure is { } right) { json.WriteString("rightFigure", right); }
            if (fault.Cause.Citation is { } citation) { json.WriteString("citation", citation); }
            json.WriteEndObject();
        }

        json.WriteEndArray();
        if (faults.Count > MostListed) { json.WriteNumber("notListed", faults.Count - MostListed); }
    }
}
