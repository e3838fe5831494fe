using System.CommandLine;
using System.Text.Json;
using Contracts.Agreements;
using Contracts.Host.Reconstruct;
using Contracts.Host.Serving.Pages;
using Contracts.Host.Terminal;
using Contracts.Proposals;
using Contracts.Store.Proposals;
using NodaTime.Text;
using Spectre.Console;

namespace Contracts.Host.Disputes;

/// <summary>`contracts proposals`: what was proposed, and what a second person made of it.</summary>
public static class ProposalsCommand
{
    public static System.CommandLine.Command Build()
    {
        var open = new Option<bool>("--open") { Description = "Only those that nobody has decided on." };
        var contract = new Option<string?>("--contract") { Description = "Only those about one contract." };
        var known = CommonOptions.KnownOrCheckpoint();
        var command = new System.CommandLine.Command("proposals", "What was proposed, by whom, and what a second person made of it.") { open, contract, known };
        command.SetAction((parse, stop) => Session.RunAsync(
            parse, simulatedClock: false,
            async session =>
            {
                if (await session.ViewOrCheckpointAsync(null, parse.GetValue(known), stop).ConfigureAwait(false) is not { } view) { return ExitCodes.Refused; }
                var all = await session.Store.Proposals.ListAsync(view.Known.At, stop).ConfigureAwait(false);
                Print(Choose(all, parse.GetValue(open), parse.GetValue(contract)), session.Format);
                return ExitCodes.Done;
            },
            stop));
        return command;
    }

    /// <summary>Those that are asked for, in the order in which they were made.</summary>
    internal static IReadOnlyList<RecordedProposal> Choose(IReadOnlyList<RecordedProposal> all, bool open, string? contract) =>
        [.. all.Where(one => (!open || one.Proposal.End == ProposalEnd.Open) && (contract is null || one.Contract == contract))];

    /// <summary>Proposals as one JSON list.</summary>
    internal static string Json(IReadOnlyList<RecordedProposal> proposals) => AccountPrinter.Json(json =>
    {
        json.WriteStartArray();
        foreach (var one in proposals) { Write(json, one); }
        json.WriteEndArray();
    });

    /// <summary>The end of a proposal as a word.</summary>
    internal static string Word(ProposalEnd end) => end switch
    {
        ProposalEnd.Open => "open",
        ProposalEnd.Approved => "approved",
        ProposalEnd.Declined => "declined",
        _ => throw new System.Diagnostics.UnreachableException("No such end."),
    };

    private static void Print(IReadOnlyList<RecordedProposal> proposals, OutputFormat format)
    {
        switch (format)
        {
            case OutputFormat.Table: PrintTable(proposals); break;
            case OutputFormat.Csv: PrintCsv(proposals); break;
            case OutputFormat.Json: Console.Out.WriteLine(Json(proposals)); break;
            default:
                foreach (var one in proposals) { Console.Out.WriteLine(AccountPrinter.Json(json => Write(json, one))); }
                break;
        }
    }

    private static string What(RecordedProposal one) => $"{Say.Change(one)}{(one.Contract is { } contract ? $", {contract}" : "")}";

    private static void PrintTable(IReadOnlyList<RecordedProposal> proposals)
    {
        var table = AccountPrinter.Plain().AddColumns("proposal", "made (UTC)", "by", "what", "why", "now");
        foreach (var one in proposals)
        {
            table.AddRow(
                one.Proposal.Id, one.ProposedAt.ToString("uuuu-MM-dd HH:mm", null), Markup.Escape(one.Proposal.Maker), Markup.Escape(What(one)),
                Markup.Escape(one.Reason ?? ""), Markup.Escape(one.Proposal.By is { } by ? $"{Word(one.Proposal.End)} by {by}" : Word(one.Proposal.End)));
        }

        AnsiConsole.Write(table);
    }

    private static void PrintCsv(IReadOnlyList<RecordedProposal> proposals)
    {
        Console.Out.WriteLine("proposal,contract,change,by,reason,proposedAt,status,decidedBy,decidedAt,decidedBecause");
        foreach (var one in proposals)
        {
            Console.Out.WriteLine(string.Join(
                ',', one.Proposal.Id, one.Contract ?? "", AccountCsv.Cell(one.Change), AccountCsv.Cell(one.Proposal.Maker), AccountCsv.Cell(one.Reason ?? ""),
                InstantPattern.ExtendedIso.Format(one.ProposedAt), Word(one.Proposal.End), AccountCsv.Cell(one.Proposal.By ?? ""),
                one.DecidedAt is { } at ? InstantPattern.ExtendedIso.Format(at) : "", AccountCsv.Cell(one.DecidedBecause ?? "")));
        }
    }

    private static void Write(Utf8JsonWriter json, RecordedProposal one)
    {
        json.WriteStartObject();
        json.WriteString("proposal", one.Proposal.Id);
        if (one.Contract is { } contract) { json.WriteString("contract", contract); }
        json.WritePropertyName("change");
        json.WriteRawValue(one.Change);
        json.WriteString("by", one.Proposal.Maker);
        if (one.Reason is { } reason) { json.WriteString("reason", reason); }
        json.WriteString("proposedAt", InstantPattern.ExtendedIso.Format(one.ProposedAt));
        json.WriteString("status", Word(one.Proposal.End));
        if (one.Proposal.By is { } by) { json.WriteString("decidedBy", by); }
        if (one.DecidedAt is { } at) { json.WriteString("decidedAt", InstantPattern.ExtendedIso.Format(at)); }
        if (one.DecidedBecause is { } because) { json.WriteString("decidedBecause", because); }
        json.WriteEndObject();
    }
}
