using System.Text.Json;
using Contracts.Host.Reconstruct;
using Contracts.Host.Terminal;
using Contracts.Store.Quotes;
using NodaTime;
using NodaTime.Text;
using Spectre.Console;
using Command = System.CommandLine.Command;

namespace Contracts.Host.Quoting;

/// <summary>`contracts quotes`: the quotes that were given, and what became of them.</summary>
public static class QuotesCommand
{
    private const string Header = "quote,on,recordedAt,household,kind,state,jurisdiction,startOn,monthlyRent,planElected,validThrough,status,contracts,digest,by";

    public static Command Build()
    {
        var on = CommonOptions.On();
        var known = CommonOptions.Known();
        var command = new Command("quotes", "The quotes that were given: to whom, until when they hold, and the contracts signed with them.") { on, known };
        command.SetAction((parse, stop) => Session.RunAsync(
            parse, simulatedClock: false,
            async session =>
            {
                var view = await session.ViewAsync(parse.GetValue(on), parse.GetValue(known), stop).ConfigureAwait(false);
                Print(await session.Store.Quotes.ListAsync(view.Known, stop).ConfigureAwait(false), view.On, session.Format);
                return ExitCodes.Done;
            },
            stop));
        return command;
    }

    private static void Print(IReadOnlyList<RecordedQuote> quotes, LocalDate on, OutputFormat format)
    {
        switch (format)
        {
            case OutputFormat.Table: PrintTable(quotes, on); break;
            case OutputFormat.Csv:
                Console.Out.WriteLine(Header);
                foreach (var quote in quotes) { Console.Out.WriteLine(Row(quote, on)); }
                break;
            case OutputFormat.Jsonl:
                foreach (var quote in quotes) { Console.Out.WriteLine(AccountPrinter.Json(json => Write(json, quote, on))); }
                break;
            default:
                Console.Out.WriteLine(AccountPrinter.Json(json =>
                {
                    json.WriteStartArray();
                    foreach (var quote in quotes) { Write(json, quote, on); }
                    json.WriteEndArray();
                }));
                break;
        }
    }

    /// <summary>Signed once a contract names it; otherwise open through its last day, and expired after it.</summary>
    private static string Status(RecordedQuote quote, LocalDate on) =>
        quote.Contracts.Count > 0 ? "signed" : on <= quote.Given.ValidThrough ? "open" : "expired";

    private static void PrintTable(IReadOnlyList<RecordedQuote> quotes, LocalDate on)
    {
        var table = AccountPrinter.Plain().AddColumns("quote", "given", "household", "for").AddColumn(new TableColumn("rent").RightAligned())
            .AddColumns("starts", "holds through", "status");
        foreach (var quote in quotes)
        {
            var given = quote.Given;
            var signed = quote.Contracts.Count > 0 ? $" {string.Join(", ", quote.Contracts)}" : "";
            string[] cells =
            [
                given.Quote, Iso(given.On), given.Household, given.Instrument?.Kind ?? "", given.Terms.MonthlyRent.ToString(), Iso(given.StartOn),
                Iso(given.ValidThrough), $"{Status(quote, on)}{signed}",
            ];
            table.AddRow(cells.Select(cell => new Text(cell)));
        }

        AnsiConsole.Write(table);
    }

    private static string Row(RecordedQuote quote, LocalDate on)
    {
        var given = quote.Given;
        return string.Join(
            ',', given.Quote, Iso(given.On), InstantPattern.ExtendedIso.Format(quote.At), AccountCsv.Cell(given.Household),
            AccountCsv.Cell(given.Instrument?.Kind ?? ""), given.State, AccountCsv.Cell(given.Jurisdiction), Iso(given.StartOn), given.Terms.MonthlyRent,
            given.WithPlan ? "true" : "false", Iso(given.ValidThrough), Status(quote, on), string.Join(' ', quote.Contracts), given.Digest,
            AccountCsv.Cell(quote.By ?? ""));
    }

    private static void Write(Utf8JsonWriter json, RecordedQuote quote, LocalDate on)
    {
        var given = quote.Given;
        json.WriteStartObject();
        json.WriteString("quote", given.Quote);
        json.WriteString("on", Iso(given.On));
        json.WriteString("recordedAt", InstantPattern.ExtendedIso.Format(quote.At));
        json.WriteString("household", given.Household);
        if (given.Instrument is { } unit) { json.WriteString("kind", unit.Kind); }
        json.WriteString("state", given.State);
        json.WriteString("jurisdiction", given.Jurisdiction);
        json.WriteString("startOn", Iso(given.StartOn));
        json.WriteString("monthlyRent", given.Terms.MonthlyRent.ToString());
        json.WriteBoolean("planElected", given.WithPlan);
        json.WriteString("validThrough", Iso(given.ValidThrough));
        json.WriteString("status", Status(quote, on));
        json.WriteStartArray("contracts");
        foreach (var contract in quote.Contracts) { json.WriteStringValue(contract); }
        json.WriteEndArray();
        json.WriteString("digest", given.Digest);
        if (quote.By is { } by) { json.WriteString("by", by); }
        json.WriteEndObject();
    }

    private static string Iso(LocalDate day) => LocalDatePattern.Iso.Format(day);
}
