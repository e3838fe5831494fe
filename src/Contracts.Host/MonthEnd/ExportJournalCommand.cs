using System.CommandLine;
using Contracts.Host.Terminal;
using Contracts.Store.Books;

namespace Contracts.Host.MonthEnd;

/// <summary>`contracts export-journal`: every posting in the plain-text double-entry form of general accounting tools.</summary>
public static class ExportJournalCommand
{
    public static Command Build()
    {
        var file = new Argument<string>("file") { Description = "The file to write; - writes to standard output." };
        var known = CommonOptions.Known();
        var form = new Option<string>("--for")
        {
            Description = "ledger (hledger reads the same) or beancount.",
            DefaultValueFactory = _ => "ledger",
        };
        form.AcceptOnlyFromAmong("ledger", "hledger", "beancount");
        var detail = new Option<bool>("--every-day") { Description = "Write what is earned by day under each posting set, not once a day for all." };
        var command = new Command("export-journal", "Write the journal for ledger, hledger or beancount, as known at a moment.")
        {
            file, known, form, detail, ChartOption.File,
        };
        command.SetAction((parse, stop) => ChartOption.RunAsync(
            parse,
            async (session, chart) =>
            {
                var (_, moment) = await session.ViewAsync(null, parse.GetValue(known), stop).ConfigureAwait(false);
                var path = parse.GetRequiredValue(file);
                var sets = session.Store.Books.SetsAsync(moment, null, stop);
                var beancount = parse.GetRequiredValue(form) == "beancount";
                if (path == "-")
                {
                    await JournalFile.WriteAsync(Console.Out, sets, chart, beancount, parse.GetValue(detail)).ConfigureAwait(false);
                    return ExitCodes.Done;
                }

                // A journal that breaks off would balance and be wrong: it takes its name when it is whole.
                var unfinished = path + ".unfinished";
                await using (var text = new StreamWriter(unfinished))
                {
                    await JournalFile.WriteAsync(text, sets, chart, beancount, parse.GetValue(detail)).ConfigureAwait(false);
                }

                File.Move(unfinished, path, overwrite: true);
                return ExitCodes.Done;
            },
            stop));
        return command;
    }
}
