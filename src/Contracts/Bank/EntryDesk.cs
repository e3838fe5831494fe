using System.Collections.Immutable;
using Contracts.Agreements;
using Contracts.History;
using NodaTime;

namespace Contracts.Bank;

/// <summary>A line that waits for a person, or has been decided on, as a decision about it meets it.</summary>
/// <param name="Id">Its name.</param>
/// <param name="BookedOn">The day the bank booked it.</param>
/// <param name="Amount">How much.</param>
/// <param name="IsCredit">Whether money came in.</param>
/// <param name="Method">How the money travelled.</param>
/// <param name="Reference">The reference a payment made of it carries.</param>
/// <param name="ReturnCode">Why a payment came back, as the file said it, or null.</param>
/// <param name="SettledBy">Who decided on it, or null while it waits.</param>
public sealed record WaitingEntry(
    string Id, LocalDate BookedOn, Money Amount, bool IsCredit, string Method, string? Reference, string? ReturnCode, string? SettledBy)
{
    private const string KeyPrefix = "bank:";

    /// <summary>Whether a payment was made of a line of a bank's file.</summary>
    public static bool IsKey(string key) => key.StartsWith(KeyPrefix, StringComparison.Ordinal);

    /// <summary>The key of the payment that a line makes: the line makes it once, whoever reads the file again.</summary>
    /// <param name="entry">The line.</param>
    /// <param name="share">Which share of it, counted from zero.</param>
    public static string KeyOf(string entry, int share = 0) => share == 0 ? KeyPrefix + entry : $"{KeyPrefix}{entry}:{share + 1}";
}

/// <summary>Decides on what a person says a line is about. Whether the payments themselves are possible is for the rules of the contracts.</summary>
public static class EntryDesk
{
    /// <summary>
    /// The commands that settle a line, or why it cannot be settled so. None where money came in and a payment is named: it was recorded when it was
    /// made, and arrives with the line (<see cref="ArrivalFault"/>).
    /// </summary>
    /// <param name="command">What the person says.</param>
    /// <param name="entry">The line under that name, or null.</param>
    public static (ImmutableArray<Command.OnContract> Changes, Refusal? Refusal) Settle(Command.SettleEntry command, WaitingEntry? entry)
    {
        if (Undecidable(command, command.Entry, entry) is { } refusal) { return ([], refusal); }
        return command.Payment is null ? Pay(command, entry!) : entry!.IsCredit ? ([], null) : Reverse(command, entry);
    }

    /// <summary>Why a line cannot be set aside, or null.</summary>
    public static Refusal? Fault(Command.SetEntryAside command, WaitingEntry? entry) =>
        Undecidable(command, command.Entry, entry)
        ?? (string.IsNullOrWhiteSpace(command.Origin.Reason) ? new Refusal(RefusalCode.ReasonMissing, "Say why the line concerns no contract.", "reason") : null);

    /// <summary>Why a recorded payment cannot be what arrived with a line, or null.</summary>
    /// <param name="command">What the person says.</param>
    /// <param name="entry">The line.</param>
    /// <param name="history">The contract that is named.</param>
    public static Refusal? ArrivalFault(Command.SettleEntry command, WaitingEntry entry, ContractHistory history)
    {
        var taken = history.Facts.Any(fact => fact.Event is ContractEvent.PaymentReversed back && back.Payment == command.Payment);
        var amount = history.Facts.FirstOrDefault(fact => fact.Key == command.Payment)?.Event switch
        {
            ContractEvent.PaymentReceived e => e.Amount,
            ContractEvent.BoughtEarly e => (Money?)e.Amount,
            _ => null,
        };
        if (amount is null || taken)
        {
            return new Refusal(RefusalCode.PaymentUnknown, $"The contract {history.Contract} has no payment '{command.Payment}' that stands.", "payment");
        }

        return amount == entry.Amount ? null : new Refusal(
            RefusalCode.EntrySharesDiffer, $"The payment is of {amount}; the line is {entry.Amount}.", "payment", entry.Amount.ToString());
    }

    private static (ImmutableArray<Command.OnContract> Changes, Refusal? Refusal) Pay(Command.SettleEntry command, WaitingEntry entry)
    {
        if (!entry.IsCredit)
        {
            return ([], new Refusal(RefusalCode.EntryDirectionWrong, "Money went out with this line; name the payment that came back, and the code.", "payment"));
        }

        var sum = command.Shares.Aggregate(Money.Zero, (total, share) => total + share.Amount);
        if (sum != entry.Amount)
        {
            return ([], new Refusal(RefusalCode.EntrySharesDiffer, $"The shares add up to {sum}; the line is {entry.Amount}.", "shares", entry.Amount.ToString()));
        }

        if (command.Shares.DistinctBy(share => share.Contract).Count() < command.Shares.Length || command.Shares.Any(share => !share.Amount.IsPositive))
        {
            return ([], new Refusal(RefusalCode.EntrySharesDiffer, "Each contract has one share, above zero.", "shares"));
        }

        return ([.. command.Shares.Select((share, index) => On(
            command, entry, share.Contract, new ContractCommand.Pay(share.Amount, entry.Method, entry.Reference), index))], null);
    }

    private static (ImmutableArray<Command.OnContract> Changes, Refusal? Refusal) Reverse(Command.SettleEntry command, WaitingEntry entry)
    {
        var code = command.Code ?? entry.ReturnCode ?? "";
        return ReturnCode.Find(code) is { OfConsumerDebit: true }
            ? ([On(command, entry, command.Shares[0].Contract, new ContractCommand.ReversePayment(command.Payment!, code), 0)], null)
            : ([], new Refusal(RefusalCode.ReturnCodeUnknown, $"'{code}' is no code with which a family's payment comes back.", "code"));
    }

    private static Command.OnContract On(Command.SettleEntry command, WaitingEntry entry, string contract, ContractCommand body, int share) =>
        new(contract, entry.BookedOn, body)
        {
            Origin = command.Origin with { Key = WaitingEntry.KeyOf(entry.Id, share), Reason = command.Origin.Reason ?? $"line {entry.Id} of the bank's file" },
        };

    private static Refusal? Undecidable(Command command, string id, WaitingEntry? entry) => entry switch
    {
        _ when string.IsNullOrWhiteSpace(command.Origin.By) => new Refusal(RefusalCode.FieldMissing, "What is decided on a line names a person.", "by"),
        null => new Refusal(RefusalCode.EntryUnknown, $"No line {id} waits or was decided on.", "entry"),
        { SettledBy: { } by } => new Refusal(RefusalCode.EntrySettled, $"{by} decided on it already.", "entry"),
        _ => null,
    };
}
