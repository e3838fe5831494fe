using System.Collections.Frozen;
using System.Diagnostics;
using Contracts.Agreements;

namespace Contracts.Books;

/// <summary>What an event posts by itself, before the charges and settlements it leads to.</summary>
internal abstract record Entry
{
    private Entry() { }

    /// <summary>Nothing, and why.</summary>
    public sealed record None(string Why) : Entry;

    public sealed record Of(BookAccount Debit, BookAccount Credit, Money Amount, Movement Movement) : Entry;

    /// <summary>What open items bear when part of them is written off.</summary>
    public sealed record WriteOff(Money Amount) : Entry;

    /// <summary>Money on what was written off before.</summary>
    public sealed record Recovery(Money Amount) : Entry;
}

/// <summary>A payment as its reversal needs it.</summary>
internal readonly record struct PaymentMade(BookAccount Account, Money Amount);

/// <summary>
/// The posting rule of every event. What falls due, what is settled, units and equity follow from the account and are
/// posted by <see cref="BookKeeper"/>; docs/accounting.md has the whole table.
/// </summary>
internal static class PostingRules
{
    /// <param name="fact">What happened.</param>
    /// <param name="took">Whether it has an effect in this view; money counts even when the event is overtaken.</param>
    /// <param name="payments">The payments by their keys.</param>
    public static Entry EntryOf(ContractEvent fact, bool took, IReadOnlyDictionary<string, PaymentMade> payments) => fact switch
    {
        ContractEvent.PaymentReceived e => Received(e.Method, e.Amount),
        ContractEvent.BoughtEarly e => Received(e.Method, e.Amount),
        ContractEvent.PaymentReversed e => payments.TryGetValue(e.Payment, out var made)
            ? new Entry.Of(BookAccount.UnappliedCredit, made.Account, made.Amount, Movement.PaymentReversed)
            : new Entry.None("The payment was reversed before."),
        ContractEvent.RefundIssued e =>
            new Entry.Of(BookAccount.UnappliedCredit, BookAccount.CashOperating, e.Amount, Movement.Refunded),
        ContractEvent.CreditGiven e =>
            new Entry.Of(BookAccount.GoodwillGiven, BookAccount.GoodwillCredit, e.Amount, Movement.Given),
        ContractEvent.SteppedUp e when took =>
            new Entry.Of(BookAccount.StepUpCreditGiven, BookAccount.StepUpCredit, e.Credit, Movement.Given),
        ContractEvent.SteppedUp => new Entry.None("Overtaken: nothing was credited."),
        ContractEvent.MerchandiseCreditSpent e =>
            new Entry.Of(BookAccount.MerchandiseCredit, BookAccount.StepUpCredit, e.Amount, Movement.Spent),
        ContractEvent.WrittenOff e => new Entry.WriteOff(e.Amount),
        ContractEvent.Recovered e => new Entry.Recovery(e.Amount),

        ContractEvent.Signed => new Entry.None("Nothing is owed for signing; accessories and installments are charges of their days."),
        ContractEvent.InstrumentDelivered => new Entry.None("The clock starts: what falls due by it is charged on its days."),
        ContractEvent.PlanElected or ContractEvent.PlanCancelled => new Entry.None("The plan is charged with the installments it covers."),
        ContractEvent.InstrumentSwapped => new Entry.None("Same kind, same terms; the fleet's cost stays where it is until the fee."),
        ContractEvent.DamageReported => new Entry.None("What a repair would cost is told and not charged."),
        ContractEvent.DisputeOpened or ContractEvent.DisputePaperAttached or ContractEvent.DisputeAnswered or ContractEvent.DisputeClosed =>
            new Entry.None("A dispute moves nothing; what it puts right is posted as what it is."),
        ContractEvent.LabelIssued => new Entry.None("A label costs the family nothing; the carrier's bill is no contract's."),
        ContractEvent.UnitReceived => new Entry.None("A fee that goes is a charge reversed."),
        ContractEvent.InstrumentExchanged => new Entry.None("Units and equity are posted from the account at the end of the day."),
        ContractEvent.Returned => new Entry.None("No refund of the running period: what is deferred is released at the end of the day."),
        ContractEvent.FeeWaived => new Entry.None("A waived fee is a charge reversed."),
        ContractEvent.Moved => new Entry.None("Other rates begin with the next charge."),
        ContractEvent.LossReported => new Entry.None("The charge and the unit's cost are posted from the account."),
        ContractEvent.Held or ContractEvent.Released => new Entry.None("Nothing falls due in between; a period already charged runs on."),
        ContractEvent.Reinstated => new Entry.None("The unit and the equity come back from the account."),

        ContractEvent.InstallmentCharged or ContractEvent.InstallmentReversed or ContractEvent.FeeCharged
            or ContractEvent.FeeReversed or ContractEvent.OwnershipTransferred =>
            new Entry.None("A note: it lets what terms and dates made fall due be posted through its day."),
        ContractEvent.DocumentIssued => new Entry.None("A paper says what is booked already and moves nothing."),
        _ => throw new UnreachableException($"No posting rule for {fact.GetType().Name}."),
    };

    /// <summary>The account that takes money of a method. Words of the trade; another word goes to the operating account.</summary>
    public static BookAccount AccountOf(string method) => Methods.GetValueOrDefault(method, BookAccount.CashOperating);

    /// <summary>Whether a method is one of the words that have an account of their own.</summary>
    public static bool KnowsMethod(string method) => Methods.ContainsKey(method);

    private static readonly FrozenDictionary<string, BookAccount> Methods = new Dictionary<string, BookAccount>
    {
        ["cash"] = BookAccount.CashDrawer,
        ["card"] = BookAccount.CardClearing,
        ["credit-card"] = BookAccount.CardClearing,
        ["debit-card"] = BookAccount.CardClearing,
        ["ach"] = BookAccount.BankClearing,
        ["bank"] = BookAccount.BankClearing,
        ["bank-debit"] = BookAccount.BankClearing,
        ["transfer"] = BookAccount.BankClearing,
        ["check"] = BookAccount.ChecksReceived,
        ["cheque"] = BookAccount.ChecksReceived,
    }.ToFrozenDictionary(StringComparer.OrdinalIgnoreCase);

    private static Entry.Of Received(string method, Money amount) =>
        new(AccountOf(method), BookAccount.UnappliedCredit, amount, Movement.Received);
}
