using Contracts.Agreements;
using Contracts.Bank;
using Contracts.Store.Bank;
using NodaTime;
using Npgsql;

namespace Contracts.Store.Writing;

/// <summary>
/// Decides on lines of a bank's file inside a batch. What a line makes and the line itself are one transaction: there is no line that was matched
/// and whose payment did not happen, and no payment of a line that still waits.
/// </summary>
internal sealed class EntryRecords(WriteScope scope, Decider decider, BatchDecider desk)
{
    private readonly Dictionary<string, WaitingEntry?> entries = new(StringComparer.Ordinal);

    /// <summary>Carries out what a person says of a line and records it, or says why not.</summary>
    public async Task<Refusal?> DecideAsync(Command command, Instant at, CancellationToken stop)
    {
        switch (command)
        {
            case Command.SettleEntry settle:
                var entry = await FindAsync(settle.Entry, stop).ConfigureAwait(false);
                var (changes, refusal) = EntryDesk.Settle(settle, entry);
                if (refusal is null && changes.IsEmpty)
                {
                    refusal = EntryDesk.ArrivalFault(settle, entry!, (await scope.FetchAsync(settle.Shares[0].Contract, stop).ConfigureAwait(false)).History);
                }

                if (refusal is not null) { return refusal; }
                return await ApplyAsync(changes, at, stop).ConfigureAwait(false)
                    ?? await EndAsync(
                        settle.Entry, new EntrySettled(settle.Entry, settle.Shares, settle.Payment, changes.IsEmpty ? null : Code(changes[0])), settle.Origin, at, stop)
                        .ConfigureAwait(false);
            case Command.SetEntryAside aside:
                return EntryDesk.Fault(aside, await FindAsync(aside.Entry, stop).ConfigureAwait(false))
                    ?? await EndAsync(aside.Entry, new EntrySetAside(aside.Entry), aside.Origin, at, stop).ConfigureAwait(false);
            default: throw new ArgumentException("Not a decision on a line.", nameof(command));
        }
    }

    /// <summary>Applies the commands of one line, all of them or none.</summary>
    public async Task<Refusal?> ApplyAsync(IReadOnlyList<Command.OnContract> changes, Instant at, CancellationToken stop)
    {
        // Payments on different contracts do not touch each other, so each is tried before the first is gathered.
        foreach (var change in changes)
        {
            if (scope.Applied.ContainsKey(change.Origin.Key))
            {
                return new Refusal(RefusalCode.EntrySettled, $"A command with the key {change.Origin.Key} was applied already.", "entry");
            }

            var known = await scope.FetchAsync(change.Contract, stop).ConfigureAwait(false);
            if (changes.Count > 1 && decider.Decide(known.History, desk.ContextAt(at), change) is Decision.Refused refused) { return refused.Refusal; }
        }

        foreach (var change in changes)
        {
            var before = desk.Findings.Events.Count;
            if (await desk.DecideAsync(change, at, stop).ConfigureAwait(false) is { } refusal)
            {
                return changes.Count == 1 ? refusal : throw new StoreException($"A share of a line was possible and then was not: {refusal.Detail}");
            }

            desk.Stamp(new NewKey(change.Origin.Key, change.Contract, at, desk.Findings.Events.Count - before));
        }

        return null;
    }

    private async Task<Refusal?> EndAsync(string entry, object fact, CommandOrigin origin, Instant at, CancellationToken stop)
    {
        desk.Findings.Add(BankStreams.OfEntry(entry), null, fact, at, origin, null);
        entries[entry] = entries[entry]! with { SettledBy = origin.By };
        await using var command = new NpgsqlCommand("delete from contracts.waiting_texts where entry = $1", scope.Transaction.Connection, scope.Transaction);
        command.Parameters.Add(new NpgsqlParameter<string> { TypedValue = entry });
        await command.ExecuteNonQueryAsync(stop).ConfigureAwait(false);
        return null;
    }

    private async Task<WaitingEntry?> FindAsync(string entry, CancellationToken stop)
    {
        if (entries.TryGetValue(entry, out var known)) { return known; }
        await using var command = new NpgsqlCommand(EntryRows.Named, scope.Transaction.Connection, scope.Transaction);
        command.Parameters.Add(new NpgsqlParameter<string> { TypedValue = BankStreams.OfEntry(entry) });
        return entries[entry] = (await EntryRows.ReadAsync(command, stop).ConfigureAwait(false)).SingleOrDefault()?.ToWaiting();
    }

    private static string? Code(Command.OnContract change) => (change.Body as ContractCommand.ReversePayment)?.Code;
}
