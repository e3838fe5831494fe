using System.Collections.Immutable;
using Contracts.Agreements;
using Contracts.Bank;
using NodaTime;

namespace Contracts.Store.Bank;

/// <summary>The streams of money files and of lines that wait; no contract id has a colon.</summary>
public static class BankStreams
{
    private const string FilePrefix = "money-file:";
    private const string EntryPrefix = "money-entry:";

    /// <summary>The stream of a file, by the digest of its bytes.</summary>
    public static string OfFile(string digest) => FilePrefix + digest;

    /// <summary>The stream of a line that waits for a person.</summary>
    public static string OfEntry(string entry) => EntryPrefix + entry;
}

/// <summary>What a file says of one statement in it, and what was counted.</summary>
/// <param name="Name">The statement, as the file names it.</param>
/// <param name="Account">The last four characters of the account.</param>
/// <param name="Opening">The balance before its lines, where it says so.</param>
/// <param name="Closing">The balance after them, where it says so.</param>
/// <param name="Lines">How many lines there are.</param>
/// <param name="Credits">Money in.</param>
/// <param name="Debits">Money out.</param>
public sealed record StatementCounted(string Name, string Account, Money? Opening, Money? Closing, long Lines, Money Credits, Money Debits);

/// <summary>A bank's or card processor's file was taken in. Stored for ever: add fields, never rename or remove. Who sent it is a header.</summary>
/// <param name="File">SHA-256 of its bytes, in lower-case hex.</param>
/// <param name="Name">What the file was called.</param>
/// <param name="Form">What it is: <c>camt.053.001.08</c> or another message, or <c>csv</c> and the name of the mapping.</param>
/// <param name="Statements">Its statements.</param>
public sealed record MoneyFileReceived(string File, string Name, string Form, ImmutableArray<StatementCounted> Statements);

/// <summary>A line as it is kept: without what was written with it, which may name people.</summary>
/// <param name="Entry">Its name.</param>
/// <param name="File">The digest of the file it came in first.</param>
/// <param name="Place">Where in the file it stands.</param>
/// <param name="BookedOn">The day the bank booked it.</param>
/// <param name="ValueOn">The day from which it counts for interest.</param>
/// <param name="Amount">How much.</param>
/// <param name="IsCredit">Whether money came in.</param>
/// <param name="Method">How the money travelled.</param>
/// <param name="Reference">The account servicer's reference.</param>
/// <param name="ReturnCode">Why a payment came back.</param>
/// <param name="Gross">Of a card settlement: before the fee.</param>
/// <param name="Fee">Of a card settlement: the fee.</param>
/// <param name="TextDigest">SHA-256 of what was written with it: whoever has the file can show that it was this.</param>
public sealed record LineKept(
    string Entry, string File, string Place, LocalDate BookedOn, LocalDate? ValueOn, Money Amount, bool IsCredit, string Method,
    string? Reference, string? ReturnCode, Money? Gross, Money? Fee, string? TextDigest);

/// <summary>A line was matched: a payment, one that came back, or the arrival of payments recorded before.</summary>
/// <param name="Line">The line.</param>
/// <param name="Contract">The contract a command was made for, or null where payments arrived.</param>
/// <param name="Payments">The payment that was made or reversed, or those that arrived.</param>
/// <param name="Because">What it was matched by.</param>
/// <param name="Remark">What somebody should see to.</param>
public sealed record EntryMatched(LineKept Line, string? Contract, ImmutableArray<string> Payments, string Because, string? Remark = null);

/// <summary>A line may be about one of several; a person decides.</summary>
/// <param name="Line">The line.</param>
/// <param name="Candidates">What it may be about.</param>
/// <param name="Because">Why it is not clear.</param>
public sealed record EntryProposed(LineKept Line, ImmutableArray<Candidate> Candidates, string Because);

/// <summary>Nothing is known that a line could be about.</summary>
/// <param name="Line">The line.</param>
/// <param name="Because">Why.</param>
public sealed record EntryUnmatched(LineKept Line, string Because);

/// <summary>A person said what a line is about; the payments were recorded in the same transaction.</summary>
/// <param name="Entry">The line.</param>
/// <param name="Shares">Which contracts, and how much each was paid; of one that came back its contract.</param>
/// <param name="Payment">The payment that came back, or null.</param>
/// <param name="Code">The code it came back with, or null.</param>
public sealed record EntrySettled(string Entry, ImmutableArray<EntryShare> Shares, string? Payment, string? Code);

/// <summary>A person said that a line concerns no contract; why is a header.</summary>
/// <param name="Entry">The line.</param>
public sealed record EntrySetAside(string Entry);

/// <summary>What follows from a line as it is kept.</summary>
public static class LinesKept
{
    /// <summary>What was paid with a line: of a card settlement what was taken before the processor's fee. It is no field, so it is not stored.</summary>
    public static Money Paid(this LineKept line) => line.Gross ?? line.Amount;
}
