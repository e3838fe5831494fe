using System.CommandLine;
using System.Text.Json;
using Contracts.Agreements;
using Contracts.Host.Reconstruct;
using Contracts.Host.Terminal;
using Contracts.Store.Papers;
using NodaTime.Text;
using Spectre.Console;

namespace Contracts.Host.Papers;

/// <summary>`contracts papers`: what was issued on a contract.</summary>
public static class PapersCommand
{
    private const int DigestShown = 12;

    public static System.CommandLine.Command Build()
    {
        var contract = new Argument<string>("contract") { Description = "The contract's id, such as C-1042." };
        var known = CommonOptions.KnownOrCheckpoint();
        var command = new System.CommandLine.Command("papers", "The papers that were issued on a contract, in the order of issue.") { contract, known };
        command.SetAction((parse, stop) => Session.RunAsync(
            parse, simulatedClock: false,
            async session =>
            {
                if (await session.ViewOrCheckpointAsync(null, parse.GetValue(known), stop).ConfigureAwait(false) is not { } view) { return ExitCodes.Refused; }
                var id = parse.GetRequiredValue(contract);
                if (await session.Store.Reader.HistoryAsync(id, view.Known, stop).ConfigureAwait(false) is not { IsSigned: true } history)
                {
                    return session.Refuse(new Refusal(RefusalCode.ContractUnknown, $"No contract {id} was signed.", "contract"));
                }

                Print([.. PaperArchive.Of(history)], session.Format, asList: true);
                return ExitCodes.Done;
            },
            stop));
        return command;
    }

    /// <summary>Prints papers; one that was just issued stands alone, not in a list.</summary>
    internal static void Print(IReadOnlyList<IssuedPaper> papers, OutputFormat format, bool asList)
    {
        switch (format)
        {
            case OutputFormat.Table: PrintTable(papers); break;
            case OutputFormat.Csv: PrintCsv(papers); break;
            case OutputFormat.Json when asList:
                Console.Out.WriteLine(Json(papers));
                break;
            default:
                foreach (var paper in papers) { Console.Out.WriteLine(AccountPrinter.Json(json => Write(json, paper))); }
                break;
        }
    }

    /// <summary>Papers as one JSON list.</summary>
    internal static string Json(IReadOnlyList<IssuedPaper> papers) => AccountPrinter.Json(json =>
    {
        json.WriteStartArray();
        foreach (var paper in papers) { Write(json, paper); }
        json.WriteEndArray();
    });

    private static void PrintTable(IReadOnlyList<IssuedPaper> papers)
    {
        var table = AccountPrinter.Plain().AddColumns("id", "paper", "as of", "as known (UTC)", "issued (UTC)", "by", "SHA-256");
        foreach (var paper in papers)
        {
            var issued = paper.Event;
            table.AddRow(
                Markup.Escape(paper.Id), Markup.Escape(issued.For is null ? issued.Kind : $"{issued.Kind} for {issued.For}"), LocalDatePattern.Iso.Format(issued.On),
                issued.Known.ToString("uuuu-MM-dd HH:mm", null), paper.IssuedAt.ToString("uuuu-MM-dd HH:mm", null), Markup.Escape(paper.By ?? ""),
                issued.Digest[..DigestShown]);
        }

        AnsiConsole.Write(table);
    }

    private static void PrintCsv(IReadOnlyList<IssuedPaper> papers)
    {
        Console.Out.WriteLine("id,contract,kind,for,on,known,issuedAt,by,template,mediaType,digest,dataDigest,factsDigest,templateDigest,rules,lawPack");
        foreach (var paper in papers)
        {
            var e = paper.Event;
            Console.Out.WriteLine(string.Join(
                ',', AccountCsv.Cell(paper.Id), paper.Contract, e.Kind, AccountCsv.Cell(e.For ?? ""), LocalDatePattern.Iso.Format(e.On),
                InstantPattern.ExtendedIso.Format(e.Known), InstantPattern.ExtendedIso.Format(paper.IssuedAt), AccountCsv.Cell(paper.By ?? ""),
                e.Template, AccountCsv.Cell(e.MediaType), e.Digest, e.DataDigest, e.FactsDigest, e.TemplateDigest, AccountCsv.Cell(e.Rules), AccountCsv.Cell(e.LawPack ?? "")));
        }
    }

    private static void Write(Utf8JsonWriter json, IssuedPaper paper)
    {
        var issued = paper.Event;
        json.WriteStartObject();
        json.WriteString("id", paper.Id);
        json.WriteString("contract", paper.Contract);
        json.WriteString("kind", issued.Kind);
        json.WriteString("for", issued.For);
        json.WriteString("on", LocalDatePattern.Iso.Format(issued.On));
        json.WriteString("known", InstantPattern.ExtendedIso.Format(issued.Known));
        json.WriteString("issuedAt", InstantPattern.ExtendedIso.Format(paper.IssuedAt));
        json.WriteString("by", paper.By);
        json.WriteString("template", issued.Template);
        json.WriteString("mediaType", issued.MediaType);
        json.WriteString("digest", issued.Digest);
        json.WriteString("dataDigest", issued.DataDigest);
        json.WriteString("factsDigest", issued.FactsDigest);
        json.WriteString("templateDigest", issued.TemplateDigest);
        json.WriteString("rules", issued.Rules);
        json.WriteString("lawPack", issued.LawPack);
        json.WriteEndObject();
    }
}
