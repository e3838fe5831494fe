using Contracts.Bank;
using Contracts.Host.Reconstruct;
using Contracts.Host.Terminal;
using Contracts.Store.Bank;
using NodaTime.Text;
using Spectre.Console;

namespace Contracts.Host.Bank;

/// <summary>Prints files and lines: as a table for people, as JSON for programs, as CSV for sheets.</summary>
internal static class BankPrinter
{
    private const int ShownDigest = 12;

    public static void Print(MoneyFileOutcome outcome, OutputFormat format)
    {
        if (format is OutputFormat.Json or OutputFormat.Jsonl)
        {
            Console.Out.WriteLine(BankJson.Outcome(outcome));
            return;
        }

        var (file, count) = (outcome.File!, outcome.Count);
        Console.Out.WriteLine($"{file.Name} ({file.Form}), {file.File[..ShownDigest]}");
        foreach (var one in file.Statements)
        {
            var balances = one is { Opening: { } opening, Closing: { } closing } ? $"{opening} + {one.Credits} in - {one.Debits} out = {closing}"
                : $"{one.Credits} in, {one.Debits} out, no balance to hold them against";
            Console.Out.WriteLine($"  statement {one.Name}, account …{one.Account}: {one.Lines} lines, {balances}");
        }

        Console.Out.WriteLine($"  {count.Matched} matched, {count.Proposed} proposed, {count.Unmatched} unmatched, {count.Already} known already");
        if (outcome.NotBooked > 0) { Console.Out.WriteLine($"  {outcome.NotBooked} not booked yet and left out"); }
        foreach (var bad in outcome.Bad) { Console.Out.WriteLine($"  left out: {bad.Detail}"); }
        if (outcome.BadCount > MoneyFiles.MostListed) { Console.Out.WriteLine($"  and {outcome.BadCount - MoneyFiles.MostListed} more left out"); }
        if (count.Proposed + count.Unmatched > 0) { Console.Out.WriteLine("  what waits: contracts bank show"); }
    }

    public static void Print(IReadOnlyList<RecordedFile> files, OutputFormat format)
    {
        if (format is OutputFormat.Json or OutputFormat.Jsonl)
        {
            Console.Out.WriteLine(BankJson.Files(files));
            return;
        }

        if (format == OutputFormat.Csv)
        {
            Console.Out.WriteLine("file,name,form,receivedAt,by,matched,waited,waiting");
            foreach (var one in files)
            {
                Console.Out.WriteLine(string.Join(
                    ',', one.File.File, AccountCsv.Cell(one.File.Name), AccountCsv.Cell(one.File.Form), InstantPattern.ExtendedIso.Format(one.At), AccountCsv.Cell(one.By ?? ""),
                        one.Matched, one.Waited, one.Waiting));
            }

            return;
        }

        var table = AccountPrinter.Plain().AddColumns("file", "name", "form", "received (UTC)", "by", "matched", "waited", "waiting");
        foreach (var one in files)
        {
            table.AddRow(
                one.File.File[..ShownDigest], Markup.Escape(one.File.Name), Markup.Escape(one.File.Form), one.At.ToString("uuuu-MM-dd HH:mm", null), Markup.Escape(one.By ?? ""),
                    $"{one.Matched}", $"{one.Waited}", $"{one.Waiting}");
        }

        AnsiConsole.Write(table);
    }

    public static void Print(IReadOnlyList<RecordedEntry> entries, OutputFormat format)
    {
        switch (format)
        {
            case OutputFormat.Table: PrintTable(entries); break;
            case OutputFormat.Csv: PrintCsv(entries); break;
            default: Console.Out.WriteLine(BankJson.Entries(entries)); break;
        }
    }

    public static void PrintCodes(OutputFormat format)
    {
        if (format is OutputFormat.Json or OutputFormat.Jsonl)
        {
            Console.Out.WriteLine(BankJson.Codes());
            return;
        }

        if (format == OutputFormat.Csv)
        {
            Console.Out.WriteLine("code,title,frame,ofConsumerDebit,verified");
            foreach (var code in ReturnCode.All) { Console.Out.WriteLine(string.Join(',', code.Code, AccountCsv.Cell(code.Title), code.FrameWords, code.OfConsumerDebit ? "yes"
                : "no", code.Verified)); }
            return;
        }

        var table = AccountPrinter.Plain().AddColumns("code", "says", "within", "a family's", "known");
        foreach (var code in ReturnCode.All) { table.AddRow(code.Code, Markup.Escape(code.Title), code.FrameWords, code.OfConsumerDebit ? "yes" : "no", code.Verified); }
        AnsiConsole.Write(table);
    }

    private static void PrintTable(IReadOnlyList<RecordedEntry> entries)
    {
        if (entries.Count == 0)
        {
            Console.Out.WriteLine("No line waits.");
            return;
        }

        var table = AccountPrinter.Plain().AddColumns("line", "booked", "amount", "now", "why, and what it may be about");
        foreach (var one in entries)
        {
            var about = one.Waits
                ? string.Join("; ", one.Candidates.Select(candidate => $"{candidate.Contract}{(candidate.Payment is { } payment ? $" {payment}" : "")} ({candidate.Why})"))
                : string.Join(", ", one.Shares.Select(share => $"{share.Contract} {share.Amount}"));
            string?[] words = [one.Because, about.Length > 0 ? about : null, one.Text is { } text ? $"it says: {text}" : null, one.Remark];
            table.AddRow(
                one.Line.Entry, LocalDatePattern.Iso.Format(one.Line.BookedOn),
                    $"{(one.Line.IsCredit ? "" : "-")}{one.Line.Amount}{(one.Line.ReturnCode is { } code ? $" {Markup.Escape(code)}" : "")}",
                Markup.Escape(one.DecidedBy is { } by ? $"{BankJson.Word(one.Standing)} by {by}" : BankJson.Word(one.Standing)),
                    Markup.Escape(string.Join("\n", words.OfType<string>())));
        }

        AnsiConsole.Write(table);
    }

    private static void PrintCsv(IReadOnlyList<RecordedEntry> entries)
    {
        Console.Out.WriteLine("entry,status,bookedOn,direction,amount,method,reference,returnCode,because,contracts,payments,candidates,file,place,decidedBy");
        foreach (var one in entries)
        {
            Console.Out.WriteLine(string.Join(
                ',', one.Line.Entry, BankJson.Word(one.Standing), LocalDatePattern.Iso.Format(one.Line.BookedOn), one.Line.IsCredit ? "in" : "out", one.Line.Amount,
                    AccountCsv.Cell(one.Line.Method),
                AccountCsv.Cell(one.Line.Reference ?? ""), AccountCsv.Cell(one.Line.ReturnCode ?? ""), AccountCsv.Cell(one.Because),
                    AccountCsv.Cell(string.Join(' ', one.Shares.Select(share => $"{share.Contract}={share.Amount}"))),
                AccountCsv.Cell(string.Join(' ', one.Payments)), AccountCsv.Cell(string.Join(' ', one.Candidates.Select(candidate => candidate.Contract))), one.Line.File,
                    AccountCsv.Cell(one.Line.Place), AccountCsv.Cell(one.DecidedBy ?? "")));
        }
    }
}
