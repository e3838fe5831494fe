using Contracts.Explain;
using Contracts.Host.Reconstruct;
using Contracts.Host.Terminal;
using Contracts.WhatIf;
using NodaTime.Text;
using Spectre.Console;

namespace Contracts.Host.Disputes;

/// <summary>What would be, for a terminal and for files.</summary>
internal static class WhatIfPrinter
{
    public static void Print(WhatIfLook look, OutputFormat format)
    {
        switch (format)
        {
            case OutputFormat.Table: PrintTable(look); break;
            case OutputFormat.Csv: PrintCsv(look.Answer); break;
            default: Console.Out.WriteLine(look.Json()); break;
        }
    }

    /// <summary>What becomes of a fact, in a sentence's end.</summary>
    public static string Stands(FactStanding standing) => standing switch
    {
        FactStanding.WouldBeRefused => "would be refused, and still counts",
        FactStanding.FallsAway => "falls away",
        FactStanding.Overtaken => "would have no effect",
        FactStanding.TakesEffect => "would take effect",
        _ => throw new System.Diagnostics.UnreachableException($"No words for {standing}."),
    };

    private static void PrintTable(WhatIfLook look)
    {
        var answer = look.Answer;
        AnsiConsole.WriteLine($"{answer.Question.History.Contract}, {LocalDatePattern.Iso.Format(answer.Question.On)}. Supposed, and nothing recorded:");
        AnsiConsole.WriteLine($"  {answer.Says}");
        if (answer.Figures.IsEmpty && answer.Words.IsEmpty) { AnsiConsole.WriteLine("No figure of that day would be another one."); }
        else { AnsiConsole.Write(Table(answer.Figures, answer.Words, "as it is", "would be")); }
        AnsiConsole.WriteLine(answer.Departure is { } parts
            ? $"The two part first on {LocalDatePattern.Iso.Format(parts.On)}: {parts.Says}{(parts.Event is { } parting ? $" (event {parting.Sequence}, {parting.Key})" : "")}."
            : "The two never part by then.");
        foreach (var charge in answer.Charges)
        {
            AnsiConsole.WriteLine(
                $"  {charge.Id} of {LocalDatePattern.Iso.Format(charge.On)} {charge.How}: {charge.Before?.ToString() ?? "none"}, would be {charge.After?.ToString() ?? "none"}");
        }

        foreach (var fact in answer.Facts)
        {
            AnsiConsole.WriteLine(
                $"  {HistoryLine.Say(fact.Fact.Event)} of {LocalDatePattern.Iso.Format(fact.Fact.Event.On)} ({fact.Fact.Key}) {Stands(fact.Standing)}"
                + $"{(fact.Refusal is { } why ? $": {why.Slug}, {why.Detail}" : "")}");
        }

        if (look.Corrections is { } corrections) { Print(corrections); }
        AnsiConsole.WriteLine("Rent-to-own disclosure rules vary by state; ask local counsel.");
    }

    private static void Print(Corrections corrections)
    {
        if (corrections is { Reaches: true, Commands.IsEmpty: true })
        {
            AnsiConsole.WriteLine("Today the account stands there already.");
            return;
        }

        AnsiConsole.WriteLine(corrections.Reaches ? "These commands bring the real account there today:"
            : corrections.Commands.IsEmpty ? "No command brings the real account there, or nearer."
            : "No list of commands brings the real account there today. These come nearest:");
        foreach (var command in corrections.Commands) { Console.Out.WriteLine(WhatIfJson.Line(command)); }
        if (corrections.Reaches) { return; }
        AnsiConsole.WriteLine("What stays otherwise:");
        AnsiConsole.Write(Table(corrections.Left, corrections.LeftWords, "as corrected", "would be"));
        foreach (var refused in corrections.Refused)
        {
            AnsiConsole.WriteLine($"  {CommandWords(refused)} is refused: {refused.Refusal.Slug}, {refused.Refusal.Detail}");
        }
    }

    private static string CommandWords(RefusedStep refused) => $"{Commands.CommandWriter.Name(refused.Command.Body)} of {LocalDatePattern.Iso.Format(refused.Command.On)}";

    private static Table Table(IEnumerable<SupposedFigure> figures, IEnumerable<WordDifference> words, string before, string after)
    {
        var table = AccountPrinter.Plain().AddColumn("figure").AddColumn(new TableColumn(before).RightAligned()).AddColumn(new TableColumn(after).RightAligned())
            .AddColumn(new TableColumn("difference").RightAligned());
        foreach (var figure in figures) { table.AddRow(figure.Figure, figure.Text(figure.Before), figure.Text(figure.After), figure.Text(figure.After - figure.Before)); }
        foreach (var word in words) { table.AddRow(Markup.Escape(word.Figure), Markup.Escape(word.From ?? ""), Markup.Escape(word.To ?? ""), ""); }
        return table;
    }

    private static void PrintCsv(WhatIfAnswer answer)
    {
        Console.Out.WriteLine("figure,before,after,difference");
        foreach (var figure in answer.Figures)
        {
            Console.Out.WriteLine($"{figure.Figure},{figure.Text(figure.Before)},{figure.Text(figure.After)},{figure.Text(figure.After - figure.Before)}");
        }

        foreach (var word in answer.Words) { Console.Out.WriteLine($"{word.Figure},{AccountCsv.Cell(word.From ?? "")},{AccountCsv.Cell(word.To ?? "")},"); }
    }
}
