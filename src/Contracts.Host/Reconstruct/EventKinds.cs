using Contracts.Agreements;
using Contracts.History;
using Contracts.Host.Terminal;
using Contracts.Store;

namespace Contracts.Host.Reconstruct;

/// <summary>
/// By what an event can be asked for, in a history and among all accounts: its stored name, or one of a few words for what reviewers look for.
/// A closed set; an event fits several.
/// </summary>
internal static class EventKinds
{
    /// <summary>Takes back, lets off, makes good or pays back what was recorded before.</summary>
    public const string Correction = "correction";

    /// <summary>A payment taken back because it was entered wrongly.</summary>
    public const string EntryError = "entry-error";

    /// <summary>A payment taken back by the bank, whatever its return reason code.</summary>
    public const string BankReturn = "bank-return";

    /// <summary>Recorded on a later day, in the shop's zone, than the day it is about.</summary>
    public const string Backdated = "backdated";

    /// <summary>Without effect in the present view, because of what was learned later.</summary>
    public const string Overtaken = "overtaken";

    /// <summary>Proposed by one person and approved by another.</summary>
    public const string Approved = "approved";

    /// <summary>Taken over from a book that the shop kept before.</summary>
    public const string FromOldBook = "taken-over";

    /// <summary>Of those, a payment that the book did not name and that is only deemed made.</summary>
    public const string Deemed = "deemed";

    /// <summary>The words beside the stored names.</summary>
    public static IReadOnlyList<string> Words { get; } = [Correction, EntryError, BankReturn, Backdated, Overtaken, Approved, FromOldBook, Deemed];

    /// <summary>Every kind, the words first.</summary>
    public static IReadOnlyList<string> All { get; } =
        [.. Words, .. EventNames.All.Where(one => one.Type.IsSubclassOf(typeof(ContractEvent))).Select(one => one.Name)];

    /// <summary>The kinds that an event is of, the words first.</summary>
    /// <param name="entry">The event.</param>
    /// <param name="overtaken">Whether the present view has overtaken it.</param>
    public static IEnumerable<string> Of(Recorded entry, bool overtaken)
    {
        if (entry.Event is ContractEvent.PaymentReversed or ContractEvent.FeeWaived or ContractEvent.CreditGiven or ContractEvent.RefundIssued
            or ContractEvent.InstallmentReversed or ContractEvent.FeeReversed)
        {
            yield return Correction;
        }

        if (entry.Event is ContractEvent.PaymentReversed reversed) { yield return reversed.Code == AccountFold.EntryError ? EntryError : BankReturn; }
        // A note tells later, on purpose, what terms and dates had made fall due.
        if (!entry.Event.IsNote && entry.At.InZone(Session.Zone).Date > entry.Event.On) { yield return Backdated; }
        if (overtaken) { yield return Overtaken; }
        if (entry.Approved is not null) { yield return Approved; }
        if (TakenOver.Of(entry.Key) is { } mark)
        {
            yield return FromOldBook;
            if (mark.IsDeemed) { yield return Deemed; }
        }

        yield return EventNames.Of(entry.Event);
    }

    /// <summary>The lines of a kind; all of them where none is asked for.</summary>
    public static IReadOnlyList<HistoryLine> Choose(IReadOnlyList<HistoryLine> lines, string? kind) =>
        string.IsNullOrEmpty(kind) ? lines : [.. lines.Where(line => Of(line.Entry, line.Overtaken).Contains(kind))];

    /// <summary>Why a word is no kind, or null where it is one or none is given.</summary>
    /// <param name="kind">The word.</param>
    /// <param name="field">Where it stands.</param>
    public static Refusal? Unfit(string? kind, string field = "kind") => string.IsNullOrEmpty(kind) || All.Contains(kind)
        ? null
        : new Refusal(RefusalCode.FieldInvalid, $"'{field}' is one of {string.Join(", ", All)}.", field);
}
