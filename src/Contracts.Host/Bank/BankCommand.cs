using System.CommandLine;
using Contracts.Agreements;
using Contracts.Host.Running;
using Contracts.Host.Terminal;
using Contracts.Store;
using Contracts.Store.Bank;
using NodaTime;
using Command = System.CommandLine.Command;

namespace Contracts.Host.Bank;

/// <summary>`contracts bank`: money files, their lines, and what a person says of those that wait.</summary>
public static class BankCommand
{
    private const int MostMatched = 1000;

    public static Command Build() => new("bank", "Bank statements, advices and card settlements: read, matched, and decided on by a person where they are not clear.")
    {
        Read(), Files(), Show(), Settle(), Aside(), Codes(),
    };

    private static Command Read()
    {
        var path = new Argument<string>("file") { Description = "A camt.053 or camt.054 message, or a CSV file with --mapping." };
        var mapping = new Option<string?>("--mapping") { Description = "How the columns of a CSV file are to be read (docs/money-files.md)." };
        var schema = new Option<string[]>("--schema") { Description = "Hold a camt message against this schema as well, such as iso20022.org publishes it.",
            AllowMultipleArgumentsPerToken = true };
        var by = By();
        var command = new Command("read", "Take a money file in. A file that does not add up is refused whole; one that was read before changes nothing.") { path, mapping,
            schema, by, CommonOptions.SimulatedClock };
        command.SetAction((parse, stop) => Session.RunAsync(
            parse, parse.GetValue(CommonOptions.SimulatedClock),
            async session =>
            {
                var given = parse.GetRequiredValue(path);
                if (!File.Exists(given)) { throw new FileNotFoundException($"There is no file {given}."); }
                var (read, refusal) = parse.GetValue(mapping) is { } name ? CsvMapping.Read(await File.ReadAllBytesAsync(name, stop).ConfigureAwait(false)) : (null, null);
                if (refusal is not null) { return session.Refuse(refusal); }
                MoneyFile file;
                try
                {
                    file = new MoneyFile(given, Path.GetFileName(given), read, MoneyFiles.Schema(parse.GetValue(schema) ?? []));
                }
                catch (MoneyFileException fault)
                {
                    return session.Refuse(fault.Refusal);
                }

                var progress = Progress.ToStandardError();
                var outcome = await MoneyFiles.TakeAsync(session.Store, file, parse.GetValue(by)!, lines => progress.Add(lines, "lines read"), stop).ConfigureAwait(false);
                if (outcome.Refusal is { } why) { return session.Refuse(why); }
                BankPrinter.Print(outcome, session.Format);
                return outcome.BadCount > 0 ? ExitCodes.Refused : ExitCodes.Done;
            },
            stop));
        return command;
    }

    private static Command Files()
    {
        var known = CommonOptions.KnownOrCheckpoint();
        var command = new Command("files", "The money files that were taken in, and how many of their lines wait.") { known };
        command.SetAction((parse, stop) => Session.RunAsync(parse, simulatedClock: false, async session =>
        {
            if (await session.ViewOrCheckpointAsync(null, parse.GetValue(known), stop).ConfigureAwait(false) is not { } view) { return ExitCodes.Refused; }
            BankPrinter.Print(await session.Store.Bank.FilesAsync(view.Known.At, stop).ConfigureAwait(false), session.Format);
            return ExitCodes.Done;
        }, stop));
        return command;
    }

    private static Command Show()
    {
        var entry = new Argument<string?>("entry") { Description = "One line; without it all that wait.", Arity = ArgumentArity.ZeroOrOne };
        var file = new Option<string?>("--file") { Description = "The lines of one file, by its digest or the beginning of it; of clear ones the first thousand." };
        var all = new Option<bool>("--all") { Description = "Those that were decided on as well." };
        var command = new Command("show", "Lines of money files that wait for a person, or one line.") { entry, file, all };
        command.SetAction((parse, stop) => Session.RunAsync(parse, simulatedClock: false, async session =>
        {
            if (parse.GetValue(entry) is { } id)
            {
                if (await session.Store.Bank.FindAsync(id, stop).ConfigureAwait(false) is not { } found)
                {
                    return session.Refuse(new Refusal(RefusalCode.EntryUnknown, $"No line {id} waits or was decided on.", "entry"));
                }

                BankPrinter.Print([found], session.Format);
                return ExitCodes.Done;
            }

            BankPrinter.Print(await ChooseAsync(session.Store, parse.GetValue(file), parse.GetValue(all), stop).ConfigureAwait(false), session.Format);
            return ExitCodes.Done;
        }, stop));
        return command;
    }

    /// <summary>The lines that are asked for, in the order in which they came.</summary>
    /// <param name="store">The store.</param>
    /// <param name="file">The file, by its digest or the beginning of it; null for every file.</param>
    /// <param name="all">Whether those that no longer wait are asked for, too.</param>
    /// <param name="stop">Gives up.</param>
    internal static async Task<IReadOnlyList<RecordedEntry>> ChooseAsync(ContractsStore store, string? file, bool all, CancellationToken stop)
    {
        var waited = await store.Bank.WaitedAsync(await store.Reader.NowAsync(stop).ConfigureAwait(false), stop).ConfigureAwait(false);
        var chosen = waited.Where(one => (all || file is not null || one.Waits) && (file is null || one.Line.File.StartsWith(file, StringComparison.Ordinal))).ToList();
        if (file is null) { return chosen; }
        foreach (var one in await store.Bank.FilesAsync(Instant.MaxValue, stop).ConfigureAwait(false))
        {
            if (one.File.File.StartsWith(file, StringComparison.Ordinal))
            {
                chosen.AddRange(await store.Bank.MatchedAsync(one.File.File, MostMatched, stop).ConfigureAwait(false));
            }
        }

        return chosen;
    }

    private static Command Settle()
    {
        var entry = Entry();
        var contract = new Option<string?>("--contract") { Description = "The contract the whole line pays, or whose payment came back." };
        var share = new Option<string[]>("--share") { Description = "A contract and its part of the line, as C-1=20.00; may be given again.",
            AllowMultipleArgumentsPerToken = true };
        var payment = new Option<string?>("--payment") { Description = "The key of the payment that came back." };
        var code = new Option<string?>("--code") { Description = "The return code, where the file has none or another one is right." };
        var (by, reason) = (By(), new Option<string?>("--reason") { Description = "Why, for the history." });
        var command = new Command("settle", "Say which contracts a line pays, or which payment came back with it.") { entry, contract, share, payment, code, by, reason,
            CommonOptions.SimulatedClock };
        command.SetAction((parse, stop) => Session.RunAsync(parse, parse.GetValue(CommonOptions.SimulatedClock), async session =>
        {
            var id = parse.GetRequiredValue(entry);
            if (await session.Store.Bank.FindAsync(id, stop).ConfigureAwait(false) is not { } found)
            {
                return session.Refuse(new Refusal(RefusalCode.EntryUnknown, $"No line {id} waits or was decided on.", "entry"));
            }

            var (line, wrong) = SettleLine.Of(found, parse.GetValue(contract), parse.GetValue(share) ?? [], parse.GetValue(payment), parse.GetValue(code));
            if (line is null)
            {
                await Console.Error.WriteLineAsync($"contracts: {wrong}").ConfigureAwait(false);
                return ExitCodes.WrongUsage;
            }

            return await SendAsync(session, SettleLine.Read(line, parse.GetValue(by)!, parse.GetValue(reason)), stop).ConfigureAwait(false);
        }, stop));
        return command;
    }

    private static Command Aside()
    {
        var entry = Entry();
        var (by, reason) = (By(), new Option<string>("--reason") { Description = "Why it concerns no contract.", Required = true });
        var command = new Command("aside", "Say that a line concerns no contract, such as a fee of the bank.") { entry, by, reason, CommonOptions.SimulatedClock };
        command.SetAction((parse, stop) => Session.RunAsync(parse, parse.GetValue(CommonOptions.SimulatedClock), session =>
        {
            var id = parse.GetRequiredValue(entry);
            return SendAsync(session, SettleLine.Read(SettleLine.Aside(id), parse.GetValue(by)!, parse.GetValue(reason)), stop);
        }, stop));
        return command;
    }

    private static Command Codes()
    {
        var command = new Command("codes", "The reasons for which an ACH payment comes back, with their time frames and how they are known.");
        command.SetAction(parse =>
        {
            BankPrinter.PrintCodes(CommonOptions.ParseFormat(parse.GetValue(CommonOptions.Format)) ?? OutputFormat.Json);
            return ExitCodes.Done;
        });
        return command;
    }

    private static async Task<int> SendAsync(Session session, (Agreements.Command? Command, Refusal? Refusal) read, CancellationToken stop)
    {
        if (read.Command is null) { return session.Refuse(read.Refusal!); }
        Instant? at = session.Store.Settings.SimulatedClock ? await session.Store.Reader.NowAsync(stop).ConfigureAwait(false) : null;
        await using var bus = await CommandBus.StartAsync(session.Store, stop).ConfigureAwait(false);
        var result = await bus.RunAsync(new CommandRequest(read.Command, at), stop).ConfigureAwait(false);
        if (result is CommandResult.Refused refused) { return session.Refuse(refused.Refusal); }
        var entry = read.Command switch { Agreements.Command.SettleEntry c => c.Entry, Agreements.Command.SetEntryAside c => c.Entry, _ => "" };
        BankPrinter.Print([(await session.Store.Bank.FindAsync(entry, stop).ConfigureAwait(false))!], session.Format);
        return ExitCodes.Done;
    }

    private static Argument<string> Entry() => new("entry") { Description = "The line's name, such as B-3F0C8A51D7E2946B0A1C." };

    private static Option<string> By()
    {
        var by = new Option<string>("--by") { Description = "Who gives the command.", DefaultValueFactory = _ => Environment.UserName };
        by.Validators.Add(result =>
        {
            if (result.GetValueOrDefault<string?>() is not { Length: > 0 and <= 200 }) { result.AddError("--by needs 1 to 200 characters."); }
        });
        return by;
    }
}
