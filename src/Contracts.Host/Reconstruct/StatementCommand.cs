using System.CommandLine;
using Contracts.Agreements;
using Contracts.Explain;
using Contracts.Host.Terminal;
using NodaTime;
using NodaTime.Text;
using Spectre.Console;
using Command = System.CommandLine.Command;

namespace Contracts.Host.Reconstruct;

/// <summary>`contracts statement`: one contract over a span of days, movement by movement, with what is owed after each.</summary>
public static class StatementCommand
{
    public static Command Build()
    {
        var contract = new Argument<string>("contract") { Description = "The contract's id, such as C-1042." };
        var from = CommonOptions.On("--from");
        from.Description = "The first day; the day of signing when left out.";
        var through = CommonOptions.On("--through");
        through.Description = "The last day; today when left out.";
        var known = CommonOptions.KnownOrCheckpoint();
        var command = new Command("statement", "One contract over a span of days: what was charged, paid and taken back, and what is owed after each.")
        {
            contract, from, through, known,
        };
        command.SetAction((parse, stop) => Session.RunAsync(
            parse, simulatedClock: false,
            async session =>
            {
                if (await session.ViewOrCheckpointAsync(parse.GetValue(through), parse.GetValue(known), stop).ConfigureAwait(false) is not { } view) { return ExitCodes.Refused; }
                var id = parse.GetRequiredValue(contract);
                var history = await session.Store.Reader.HistoryAsync(id, view.Known, stop).ConfigureAwait(false);
                var rates = await session.Store.Reader.RatesAsync(view.Known, stop).ConfigureAwait(false);
                if (history is not { IsSigned: true } || history.Signing.On > view.On) { return session.Refuse(ComparedViews.Unknown(id)); }
                if (Backward(parse.GetValue(from), view.On) is { } backward) { return session.Refuse(backward); }
                Print(AccountStatement.Of(history, rates, parse.GetValue(from), view.On)!, view.Known.At, session.Format);
                return ExitCodes.Done;
            },
            stop));
        return command;
    }

    /// <summary>A statement as JSON.</summary>
    public static string Json(AccountStatement statement, Instant known) => AccountPrinter.Json(json => StatementJson.Write(json, statement, known));

    /// <summary>Why there is no statement of a span that ends before it begins, or null.</summary>
    internal static Refusal? Backward(LocalDate? from, LocalDate through) =>
        from > through ? new Refusal(RefusalCode.DateInvalid, "'from' is after 'through'.", "from") : null;

    private static void Print(AccountStatement statement, Instant known, OutputFormat format)
    {
        if (format != OutputFormat.Table)
        {
            Console.Out.WriteLine(Json(statement, known));
            return;
        }

        AnsiConsole.WriteLine($"{statement.Contract}: from {Iso(statement.From)} through {Iso(statement.Through)}; what is owed less what waits, after each movement");
        var table = AccountPrinter.Plain().AddColumns("on", "what").AddColumn(new TableColumn("amount").RightAligned()).AddColumn(new TableColumn("balance").RightAligned());
        table.AddRow("", "before", "", statement.Opening.Balance.ToString());
        foreach (var movement in statement.Movements)
        {
            table.AddRow(Iso(movement.On), Markup.Escape(movement.Says), movement.Amount.ToString(), movement.Balance.ToString());
        }

        table.AddRow(Iso(statement.Through), "after", "", statement.Closing.Balance.ToString());
        AnsiConsole.Write(table);
        AnsiConsole.WriteLine("Rent-to-own disclosure rules vary by state; ask local counsel.");
    }

    private static string Iso(LocalDate day) => LocalDatePattern.Iso.Format(day);
}
