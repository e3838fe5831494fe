using System.CommandLine;
using System.Globalization;
using Contracts.Explain;
using Contracts.Host.Terminal;
using NodaTime.Text;
using Spectre.Console;
using Command = System.CommandLine.Command;

namespace Contracts.Host.Reconstruct;

/// <summary>`contracts compare`: what differs between two views of an account, and which events made the difference.</summary>
public static class CompareCommand
{
    /// <summary>The command with its options; a day left out is today, knowledge left out is now, on either side.</summary>
    public static Command Build()
    {
        var contract = new Argument<string>("contract") { Description = "The contract's id, such as C-1042." };
        var (on, known) = (CommonOptions.On(), CommonOptions.KnownOrCheckpoint());
        var (withOn, withKnown) = (CommonOptions.On("--with-on"), CommonOptions.KnownOrCheckpoint("--with-known"));
        var command = new Command("compare", "What differs between two views of an account, and which events made the difference.") { contract, on, known, withOn, withKnown };
        command.SetAction((parse, stop) => Session.RunAsync(
            parse, simulatedClock: false,
            async session =>
            {
                if (await session.ViewOrCheckpointAsync(parse.GetValue(on), parse.GetValue(known), stop).ConfigureAwait(false) is not { } from) { return ExitCodes.Refused; }
                var second = await session.ViewOrCheckpointAsync(parse.GetValue(withOn), parse.GetValue(withKnown), stop, "withKnown").ConfigureAwait(false);
                if (second is not { } to) { return ExitCodes.Refused; }
                var id = parse.GetRequiredValue(contract);
                var comparison = await ComparedViews.CompareAsync(session.Store, id, from, to, stop).ConfigureAwait(false);
                if (comparison is null) { return session.Refuse(ComparedViews.Unknown(id)); }
                Print(comparison, session.Format);
                return ExitCodes.Done;
            },
            stop));
        return command;
    }

    /// <summary>A comparison as JSON.</summary>
    public static string Json(Comparison comparison) => AccountPrinter.Json(json => ComparisonJson.Write(json, comparison));

    private static void Print(Comparison comparison, OutputFormat format)
    {
        if (format != OutputFormat.Table)
        {
            Console.Out.WriteLine(Json(comparison));
            return;
        }

        AnsiConsole.WriteLine($"{comparison.Contract}: {View(comparison.From)}, compared with {View(comparison.To)}");
        if (comparison.Figures.IsEmpty && comparison.Words.IsEmpty) { AnsiConsole.WriteLine("Nothing differs."); }
        else { AnsiConsole.Write(Table(comparison)); }
        AnsiConsole.WriteLine("Rent-to-own disclosure rules vary by state; ask local counsel.");
    }

    private static Table Table(Comparison comparison)
    {
        var table = AccountPrinter.Plain().AddColumn("figure, and what made it differ")
            .AddColumn(new TableColumn("from").RightAligned()).AddColumn(new TableColumn("to").RightAligned()).AddColumn(new TableColumn("difference").RightAligned());
        foreach (var figure in comparison.Figures)
        {
            table.AddRow(
                $"[bold]{Markup.Escape(figure.Figure)}[/]", Number(figure.From, figure.IsMoney), Number(figure.To, figure.IsMoney),
                Number(figure.To - figure.From, figure.IsMoney));
            foreach (var (cause, amount) in figure.Because) { table.AddRow(Markup.Escape($"  {Words(cause)}"), "", "", Number(amount, figure.IsMoney)); }
        }

        foreach (var word in comparison.Words) { table.AddRow($"[bold]{Markup.Escape(word.Figure)}[/]", Markup.Escape(word.From ?? ""), Markup.Escape(word.To ?? ""), ""); }
        return table;
    }

    private static string Words(DifferenceCause cause)
    {
        var day = cause.On is { } on ? $"{LocalDatePattern.Iso.Format(on)} " : "";
        var fact = cause.Event is { } one ? $" (event {one.Sequence}, {one.Key})" : "";
        return $"{cause.By.Word()}: {day}{cause.Says}{fact}{(cause.Backdated ? ", recorded later" : "")}";
    }

    private static string Number(long value, bool isMoney) => isMoney ? new Money(value).ToString() : value.ToString(CultureInfo.InvariantCulture);

    private static string View(ComparedView view) => $"{LocalDatePattern.Iso.Format(view.On)} as known {view.Known.ToString("uuuu-MM-dd HH:mm", null)} UTC";
}
