using System.CommandLine;
using Contracts.Agreements;
using Contracts.Host.Terminal;
using Contracts.Store.TakeOver;
using Command = System.CommandLine.Command;

namespace Contracts.Host.TakeOver;

/// <summary>`contracts take-over`: the contracts of a book that the shop kept before, reconciled with its control totals or refused whole.</summary>
public static class TakeOverCommand
{
    /// <summary>The command: the book's files, how they are written, and what they come to.</summary>
    public static Command Build()
    {
        var contracts = new Argument<string>("file") { Description = "The book's contracts as CSV in UTF-8, one line a contract." };
        var mapping = new Option<string>("--mapping") { Description = "Which column is which and how cells are written, as JSON (docs/take-over.md).", Required = true };
        var totals = new Option<string>("--totals")
        {
            Description = "What the old book comes to on a day, as JSON: {\"asOf\":\"2026-10-31\",\"open\":27,\"equity\":\"5120.00\"}.", Required = true,
        };
        var payments = new Option<string?>("--payments") { Description = "The book's payments as CSV, one line a payment; without it the contracts say how far they are paid." };
        var dryRun = new Option<bool>("--dry-run") { Description = "Decide and reconcile everything, and write nothing." };
        var by = new Option<string>("--by") { Description = "Who takes it over.", DefaultValueFactory = _ => Environment.UserName };
        by.Validators.Add(result =>
        {
            if (result.GetValueOrDefault<string?>() is not { Length: > 0 and <= 200 }) { result.AddError("--by needs 1 to 200 characters."); }
        });
        var command = new Command(
            "take-over",
            """
            Take over the book of contracts that the shop kept before: opening events on their original days, recorded now and marked as taken over. Wrong cells are
            named with line and column; a book that does not come to the control totals is refused whole. The same files a second time change nothing.

              contracts take-over contracts.csv --mapping book.json --totals totals.json --dry-run
              contracts take-over contracts.csv --payments payments.csv --mapping book.json --totals totals.json --by office
              contracts accounts --where met=taken-over

            Rent-to-own disclosure rules vary by state; ask local counsel, and an accountant for the opening balances.
            """)
        {
            contracts, mapping, totals, payments, dryRun, by, CommonOptions.SimulatedClock,
        };
        command.SetAction((parse, stop) => Session.RunAsync(parse, parse.GetValue(CommonOptions.SimulatedClock), async session =>
        {
            var paid = parse.GetValue(payments) is { } path ? await BytesAsync(path, stop).ConfigureAwait(false) : null;
            var signed = await BytesAsync(parse.GetRequiredValue(contracts), stop).ConfigureAwait(false);
            var map = await BytesAsync(parse.GetRequiredValue(mapping), stop).ConfigureAwait(false);
            var control = await BytesAsync(parse.GetRequiredValue(totals), stop).ConfigureAwait(false);
            var (reading, unfit) = BookReading.Read(signed, paid, map, control, parse.GetValue(by)!);
            if (reading is null) { return session.Refuse(unfit!); }
            var dry = parse.GetValue(dryRun);
            var progress = Progress.ToStandardError();
            var outcome = reading.Book is { } book
                ? await session.Store.BookIntake.TakeAsync(book, reading.Totals, dry, count => progress.Add(count, "lines decided"), stop).ConfigureAwait(false)
                : new TakeOverOutcome(null, false, 0, 0, null, reading.Faults, reading.Faults[0].Refusal);
            TakeOverPrinter.Print(reading, outcome, dry, session.Format);
            return outcome.Refusal is { } refusal ? session.Refuse(refusal) : ExitCodes.Done;
        }, stop));
        return command;
    }

    private static async Task<byte[]> BytesAsync(string path, CancellationToken stop) => File.Exists(path)
        ? await File.ReadAllBytesAsync(path, stop).ConfigureAwait(false)
        : throw new FileNotFoundException($"There is no file {path}; nothing was recorded.");
}
