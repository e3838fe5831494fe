using System.Text.Json;
using Contracts.Host.Reconstruct;
using Contracts.Host.Terminal;
using NodaTime;
using NodaTime.Text;
using Spectre.Console;

namespace Contracts.Host.Disputes;

/// <summary>Disputes as JSON, as a table and as CSV.</summary>
internal static class DisputesPrinter
{
    /// <summary>Prints them in a format.</summary>
    public static void Print(IReadOnlyList<SeenDispute> disputes, OutputFormat format)
    {
        switch (format)
        {
            case OutputFormat.Table: PrintTable(disputes); break;
            case OutputFormat.Csv: PrintCsv(disputes); break;
            case OutputFormat.Json: Console.Out.WriteLine(Json(disputes)); break;
            default:
                foreach (var one in disputes) { Console.Out.WriteLine(AccountPrinter.Json(json => Write(json, one))); }
                break;
        }
    }

    /// <summary>Disputes as one JSON list.</summary>
    public static string Json(IReadOnlyList<SeenDispute> disputes) => AccountPrinter.Json(json =>
    {
        json.WriteStartArray();
        foreach (var one in disputes) { Write(json, one); }
        json.WriteEndArray();
    });

    private static void Write(Utf8JsonWriter json, SeenDispute one)
    {
        var (record, reading) = (one.Record, one.Reading);
        json.WriteStartObject();
        json.WriteString("contract", record.Contract);
        json.WriteString("dispute", record.Dispute);
        json.WriteString("standing", record.Standing);
        json.WriteString("openedOn", Iso(record.Claim.On));
        json.WriteString("openedAt", Iso(record.Opened.At));
        json.WriteString("openedBy", record.Opened.Actor);
        json.WriteString("claim", record.Claim.Claim);
        json.WriteString("says", record.Claim.Says);
        json.WriteString("about", record.Claim.About);
        json.WriteStartArray("papers");
        foreach (var paper in record.Papers)
        {
            json.WriteStartObject();
            json.WriteString("on", Iso(paper.On));
            json.WriteString("title", paper.Title);
            json.WriteString("digest", paper.Digest);
            json.WriteEndObject();
        }

        json.WriteEndArray();
        json.WriteStartArray("answers");
        foreach (var reply in record.Replies)
        {
            json.WriteStartObject();
            json.WriteString("key", reply.Key);
            json.WriteString("on", Iso(reply.On));
            json.WriteString("finding", reply.Finding);
            json.WriteString("says", reply.Says);
            json.WriteString("by", reply.By);
            json.WriteEndObject();
        }

        json.WriteEndArray();
        json.WriteString("closedOn", record.ClosedOn is { } closed ? Iso(closed) : null);
        json.WriteString("outcome", record.Outcome);
        json.WriteBoolean("onHold", one.IsOnHold);
        json.WriteString("ground", one.Hold?.Ground);
        json.WriteStartObject("readings");
        json.WriteString("on", Iso(reading.On));
        json.WriteString("saidAt", Iso(reading.SaidAt));
        json.WriteStartArray("figures");
        foreach (var figure in reading.Figures)
        {
            json.WriteStartObject();
            json.WriteString("figure", figure.Figure);
            json.WriteString("said", figure.Said);
            json.WriteString("isSo", figure.IsSo);
            json.WriteEndObject();
        }

        json.WriteEndArray();
        json.WriteNumber("same", reading.Same);
        json.WriteStartArray("since");
        foreach (var fact in reading.Since) { json.WriteStringValue(fact.Key); }
        json.WriteEndArray();
        json.WriteEndObject();
        json.WriteEndObject();
    }

    private static void PrintTable(IReadOnlyList<SeenDispute> disputes)
    {
        if (disputes.Count == 0)
        {
            AnsiConsole.WriteLine("No dispute.");
            return;
        }

        foreach (var one in disputes)
        {
            var (record, reading) = (one.Record, one.Reading);
            AnsiConsole.WriteLine($"{record.Contract}  dispute {record.Dispute}, {record.Standing}{OnHold(one)}");
            AnsiConsole.WriteLine($"  {Iso(record.Claim.On)}  {record.Claim.Claim}: {record.Claim.Says}{(record.Claim.About is { } about ? $" (about {about})" : "")}");
            foreach (var paper in record.Papers) { AnsiConsole.WriteLine($"  {Iso(paper.On)}  paper: {paper.Title}, SHA-256 {paper.Digest[..12]}"); }
            foreach (var reply in record.Replies) { AnsiConsole.WriteLine($"  {Iso(reply.On)}  {reply.Finding}: {reply.Says}"); }
            if (record.ClosedOn is { } closed) { AnsiConsole.WriteLine($"  {Iso(closed)}  closed, {record.Outcome}"); }
            AnsiConsole.WriteLine($"  of {Iso(reading.On)}, as known at {Iso(reading.SaidAt)}, and as it is:");
            foreach (var figure in reading.Figures) { AnsiConsole.WriteLine($"    {figure.Figure,-24} {figure.Said,12} {figure.IsSo,12}"); }
            AnsiConsole.WriteLine($"    {(reading.Figures.IsEmpty ? "all" : "the other")} {reading.Same} figures are the same");
            if (one.Hold is { } hold) { AnsiConsole.WriteLine($"  {hold.Caution}{(hold.Citation is { } section ? $" ({section}; {hold.Verified})" : $" ({hold.Verified})")}"); }
        }
    }

    private static void PrintCsv(IReadOnlyList<SeenDispute> disputes)
    {
        Console.Out.WriteLine("contract,dispute,standing,openedOn,claim,says,about,papers,finding,closedOn,outcome,onHold,differing");
        foreach (var (record, reading, _, hold) in disputes)
        {
            Console.Out.WriteLine(string.Join(
                ',', record.Contract, record.Dispute, record.Standing, Iso(record.Claim.On), record.Claim.Claim, AccountCsv.Cell(record.Claim.Says),
                AccountCsv.Cell(record.Claim.About ?? ""), record.Papers.Length, record.Replies.IsEmpty ? "" : record.Replies[^1].Finding,
                record.ClosedOn is { } closed ? Iso(closed) : "", record.Outcome ?? "", hold ? "true" : "false", reading.Figures.Length));
        }
    }

    /// <summary>That the contract is on hold, and on which ground.</summary>
    internal static string OnHold(SeenDispute one) => one.IsOnHold ? $"; the contract is on hold{(one.Hold is { } ground ? $" ({ground.Ground})" : "")}" : "";

    private static string Iso(LocalDate day) => LocalDatePattern.Iso.Format(day);

    private static string Iso(Instant moment) => InstantPattern.ExtendedIso.Format(moment);
}
