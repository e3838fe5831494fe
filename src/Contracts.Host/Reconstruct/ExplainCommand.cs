using System.CommandLine;
using Contracts.Explain;
using Contracts.Host.Terminal;
using Spectre.Console;
using Command = System.CommandLine.Command;

namespace Contracts.Host.Reconstruct;

/// <summary>`contracts explain`: a figure as a tree down to the events and the rules or citations that made it.</summary>
public static class ExplainCommand
{
    /// <summary>The command with its arguments and options.</summary>
    public static Command Build()
    {
        var contract = new Argument<string>("contract") { Description = "The contract's id, such as C-1042." };
        var figure = new Argument<string>("figure")
        {
            Description = "A figure of the account by its path, such as equity, earlyPurchase.payoff or openItems.installment:2026-10-05.",
        };
        var on = CommonOptions.On();
        var known = CommonOptions.KnownOrCheckpoint();
        var paper = new Option<string?>("--paper") { Description = "A figure of this issued paper instead, such as receipt.waiting; its id is in `contracts papers`." };
        var command = new Command("explain", "One figure as a tree through the rules down to the events that made it.") { contract, figure, on, known, paper };
        command.SetAction((parse, stop) => Session.RunAsync(
            parse, simulatedClock: false,
            async session =>
            {
                if (parse.GetValue(paper) is { } document)
                {
                    if (parse.GetValue(on) is not null || parse.GetValue(known) is not null) { throw new UsageException(ExplainedFigure.ItsOwnView.Detail); }
                    var (drawn, _, refusal) = await ExplainedFigure.OnPaperAsync(
                        session.Store, parse.GetRequiredValue(contract), document, parse.GetRequiredValue(figure), stop).ConfigureAwait(false);
                    if (refusal is not null) { return session.Refuse(refusal); }
                    Print(drawn!, session.Format);
                    return ExitCodes.Done;
                }

                if (await session.ViewOrCheckpointAsync(parse.GetValue(on), parse.GetValue(known), stop).ConfigureAwait(false) is not { } view) { return ExitCodes.Refused; }
                var id = parse.GetRequiredValue(contract);
                if (await ComparedViews.ReadAsync(session.Store, id, view.On, view.Known, stop).ConfigureAwait(false) is not { } read
                    || Explanation.At(read.History, read.Rates, view.On) is not { } explanation)
                {
                    return session.Refuse(ComparedViews.Unknown(id));
                }

                var name = parse.GetRequiredValue(figure);
                if (explanation.Of(name) is not { } tree) { return session.Refuse(explanation.Unknown(name)); }
                Print(tree, session.Format);
                return ExitCodes.Done;
            },
            stop));
        return command;
    }

    /// <summary>A tree as JSON.</summary>
    public static string Json(ExplainNode tree) => AccountPrinter.Json(json => ExplainJson.Write(json, tree));

    /// <summary>Prints a tree, drawn for a person or as JSON.</summary>
    internal static void Print(ExplainNode tree, OutputFormat format)
    {
        if (format != OutputFormat.Table)
        {
            Console.Out.WriteLine(Json(tree));
            return;
        }

        var drawn = new Tree(Words(tree));
        var seen = new HashSet<string>(StringComparer.Ordinal);
        foreach (var part in tree.Parts) { Draw(drawn, part, seen); }
        AnsiConsole.Write(drawn);
        AnsiConsole.WriteLine("Rent-to-own disclosure rules vary by state; ask local counsel.");
    }

    /// <summary>What was drawn once is named again and not drawn again: a payoff has the price in it twice.</summary>
    private static void Draw(IHasTreeNodes under, ExplainNode node, HashSet<string> seen)
    {
        var again = !node.Parts.IsEmpty && !seen.Add(Json(node));
        var drawn = under.AddNode(again ? $"[bold]{Markup.Escape(node.Figure)}[/] {Markup.Escape(node.Value)}  as above" : Words(node));
        if (again) { return; }
        foreach (var part in node.Parts) { Draw(drawn, part, seen); }
    }

    private static string Words(ExplainNode node)
    {
        var fact = node.Event is { } one ? $", event {one.Sequence} of {NodaTime.Text.LocalDatePattern.Iso.Format(one.Event.On)} ({one.Key})" : "";
        return $"[bold]{Markup.Escape(node.Figure)}[/] {Markup.Escape(node.Value)}  {Markup.Escape($"{node.Rule} [{node.Citation}]{fact}")}";
    }
}
