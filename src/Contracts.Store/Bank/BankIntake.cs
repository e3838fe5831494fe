using System.Collections.Immutable;
using System.Security.Cryptography;
using System.Text;
using Contracts.Agreements;
using Contracts.Bank;
using Contracts.Store.Writing;
using NodaTime;
using Npgsql;

namespace Contracts.Store.Bank;

/// <summary>A line and what was found about it.</summary>
/// <param name="Entry">The line.</param>
/// <param name="Found">What it is about.</param>
public sealed record FoundLine(BankEntry Entry, Finding Found);

/// <summary>What became of the lines of a file.</summary>
public sealed record IntakeCount(int Matched, int Proposed, int Unmatched, int Already)
{
    /// <summary>Both together.</summary>
    public static IntakeCount operator +(IntakeCount left, IntakeCount right) => new(
        left.Matched + right.Matched, left.Proposed + right.Proposed, left.Unmatched + right.Unmatched, left.Already + right.Already);
}

/// <summary>
/// Takes the lines of money files in, a batch and one transaction at a time. Each line has a key that follows from it, so a crash half-way leaves
/// whole batches and reading the file again goes on where it stopped; reading it a third time changes nothing.
/// </summary>
public sealed class BankIntake
{
    private const string NewTexts = "insert into contracts.waiting_texts (entry, text) select * from unnest($1, $2)";

    private readonly CommandPipeline pipeline;
    private readonly Writer writer;

    internal BankIntake(CommandPipeline pipeline)
    {
        this.pipeline = pipeline;
        writer = pipeline.Writer;
    }

    /// <summary>Takes some lines of a file in, and the file itself with the first of them.</summary>
    /// <param name="file">The file.</param>
    /// <param name="lines">Some of its lines.</param>
    /// <param name="by">Who sent it.</param>
    /// <param name="stop">Gives up before the transaction begins.</param>
    public Task<IntakeCount> TakeAsync(MoneyFileReceived file, IReadOnlyList<FoundLine> lines, string by, CancellationToken stop = default)
    {
        var keys = new List<string>(2 * lines.Count + 1) { FileKey(file) };
        var contracts = new HashSet<string>(StringComparer.Ordinal);
        foreach (var line in lines)
        {
            keys.Add(LineKey(line.Entry));
            foreach (var change in Changes(line.Entry, line.Found, new CommandOrigin(LineKey(line.Entry), by, null)))
            {
                keys.Add(change.Origin.Key);
                contracts.Add(change.Contract);
            }
        }

        var mode = writer.Settings.SimulatedClock ? ClockMode.Simulated : ClockMode.StoresOwn;
        return pipeline.InTurnAsync(
            () => writer.RunAsync(mode, new Needs([.. keys], [.. contracts], []), (scope, desk) => TakeAsync(scope, desk, file, lines, by, stop), stop), stop);
    }

    private async Task<IntakeCount> TakeAsync(
        WriteScope scope, BatchDecider desk, MoneyFileReceived file, IReadOnlyList<FoundLine> lines, string by, CancellationToken stop)
    {
        // A simulated clock stands still while a file is read.
        if (desk.Moment(writer.Settings.SimulatedClock ? scope.Clock.Last : null, out var at) is { } untimely) { throw new StoreException(untimely.Detail); }
        var stream = BankStreams.OfFile(file.File);
        if (!scope.Applied.ContainsKey(FileKey(file)))
        {
            var origin = new CommandOrigin(FileKey(file), by, null);
            desk.Findings.Add(stream, 0, file, at, origin, null);
            desk.Stamp(new NewKey(origin.Key, null, at, 1));
        }

        var records = new EntryRecords(scope, writer.Decider, desk);
        var count = new IntakeCount(0, 0, 0, 0);
        var texts = new List<(string Entry, string Text)>();
        foreach (var (entry, found) in lines)
        {
            var origin = new CommandOrigin(LineKey(entry), by, null);
            if (scope.Applied.ContainsKey(origin.Key))
            {
                count = count with { Already = count.Already + 1 };
                continue;
            }

            var ends = await ApplyAsync(records, entry, found, origin, at, stop).ConfigureAwait(false);
            var fact = FactOf(Kept(entry, file.File), ends);
            var waits = fact is not EntryMatched;
            if (waits && entry.Text.Length > 0) { texts.Add((entry.Id, entry.Text)); }
            desk.Findings.Add(waits ? BankStreams.OfEntry(entry.Id) : stream, waits ? 0 : null, fact, at, origin, null);
            desk.Stamp(new NewKey(origin.Key, null, at, 1));
            count += fact switch
            {
                EntryMatched => new IntakeCount(1, 0, 0, 0),
                EntryProposed => new IntakeCount(0, 1, 0, 0),
                _ => new IntakeCount(0, 0, 1, 0),
            };
        }

        await KeepTextsAsync(scope, texts, stop).ConfigureAwait(false);
        return count;
    }

    /// <summary>Carries a match out; what the rules of the contract refuse is unmatched, with their words.</summary>
    private static async Task<Finding> ApplyAsync(EntryRecords records, BankEntry entry, Finding found, CommandOrigin origin, Instant at, CancellationToken stop)
    {
        var changes = Changes(entry, found, origin);
        return changes.Length > 0 && await records.ApplyAsync(changes, at, stop).ConfigureAwait(false) is { } refusal
            ? new Finding.Unmatched { Because = $"{found.Because}, but {refusal.Slug}: {refusal.Detail}" }
            : found;
    }

    /// <summary>What a line does to contracts: nothing, a payment or its return, or the return of each part of a family's payment.</summary>
    private static ImmutableArray<Command.OnContract> Changes(BankEntry entry, Finding found, CommandOrigin origin)
    {
        return found switch
        {
            Finding.Matched matched => [Change(matched.Contract, matched.Body, 0)],
            Finding.CameBack back => [.. back.Payments.Select((payment, share) => Change(payment.Contract, new ContractCommand.ReversePayment(payment.Key, back.Code), share))],
            _ => [],
        };

        Command.OnContract Change(string contract, ContractCommand body, int share) => new(contract, entry.BookedOn, body)
        {
            Origin = origin with { Key = WaitingEntry.KeyOf(entry.Id, share), Reason = body is ContractCommand.ReversePayment ? $"line {entry.Id} of the bank's file" : null },
        };
    }

    private static object FactOf(LineKept line, Finding found) => found switch
    {
        Finding.Matched { Body: ContractCommand.ReversePayment back } m => new EntryMatched(line, m.Contract, [back.Payment], m.Because, m.Remark),
        Finding.Matched m => new EntryMatched(line, m.Contract, [WaitingEntry.KeyOf(line.Entry)], m.Because, m.Remark),
        Finding.Arrived a => new EntryMatched(line, null, [.. a.Payments.Select(payment => payment.Key)], a.Because),
        Finding.CameBack b => new EntryMatched(line, null, [.. b.Payments.Select(payment => payment.Key)], b.Because, Finding.CameBack.Remark),
        Finding.Proposed p => new EntryProposed(line, p.Candidates, p.Because),
        _ => new EntryUnmatched(line, found.Because),
    };

    private static LineKept Kept(BankEntry entry, string file) => new(
        entry.Id, file, entry.Place, entry.BookedOn, entry.ValueOn, entry.Amount, entry.IsCredit, entry.Method, entry.Reference, entry.ReturnCode, entry.Gross, entry.Fee,
        entry.Text.Length == 0 ? null : Convert.ToHexStringLower(SHA256.HashData(Encoding.UTF8.GetBytes(entry.Text))));

    private static async Task KeepTextsAsync(WriteScope scope, List<(string Entry, string Text)> texts, CancellationToken stop)
    {
        if (texts.Count == 0) { return; }
        await using var command = new NpgsqlCommand(NewTexts, scope.Transaction.Connection, scope.Transaction);
        command.Parameters.Add(new NpgsqlParameter<string[]> { TypedValue = [.. texts.Select(one => one.Entry)] });
        command.Parameters.Add(new NpgsqlParameter<string[]> { TypedValue = [.. texts.Select(one => one.Text)] });
        await command.ExecuteNonQueryAsync(stop).ConfigureAwait(false);
    }

    private static string FileKey(MoneyFileReceived file) => $"money-file:{file.File}";

    private static string LineKey(BankEntry entry) => $"money-line:{entry.Id}";
}
