using Contracts.Agreements;
using Contracts.Law;
using Contracts.Payments;
using Contracts.Schedule;
using Contracts.Terms;
using NodaTime;

namespace Contracts.History;

public sealed partial class AccountFold
{
    internal string Serial { get; private set; } = "";

    internal string Kind { get; private set; } = "";

    internal Money CarriedEquity { get; private set; }

    internal Money WrittenOff { get; private set; }

    internal bool HasWriteOff { get; private set; }

    internal LocalDate? OwnedOn { get; private set; }

    internal string OwnedBy { get; private set; } = "";

    /// <summary>Whether what made the family the owner was paying for a unit that is missing.</summary>
    internal bool OwnedAfterLoss => OwnedBy == LossPaid;

    private const string LossPaid = "loss paid";
}

/// <summary>One account at the end of a day: what the fold found. Read only; the printed figures are built from it.</summary>
public sealed class AccountState
{
    private readonly AccountFold fold;

    internal AccountState(AccountFold fold) => this.fold = fold;

    public LocalDate On => fold.Through;

    public ContractHistory History => fold.Known;

    public ContractStatus Status => fold.Status;

    /// <summary>The status as figures are printed; a contract that no longer runs is written off once anything was.</summary>
    public string StatusWord => Status switch
    {
        ContractStatus.Signed => "signed",
        ContractStatus.Active => "active",
        ContractStatus.OnHold => "on-hold",
        ContractStatus.Owned => "owned",
        _ when HasWriteOff => "written-off",
        ContractStatus.Returned => "returned",
        ContractStatus.SteppedUp => "stepped-up",
        ContractStatus.Lost => "lost",
        ContractStatus.Cancelled => "cancelled",
        _ => throw new System.Diagnostics.UnreachableException($"No word for {Status}."),
    };

    public ContractTerms Terms => fold.TermsInForce;

    public string State => fold.State;

    public string Jurisdiction => fold.Jurisdiction;

    /// <summary>The law pack the contract is under, or null where none is loaded for its state: not free of rules, only unread.</summary>
    public LawPack? Law => fold.Law;

    /// <summary>The average retail value of the unit, where it was given.</summary>
    internal Money? RetailValue => fold.RetailValue;

    /// <summary>Rent paid under the terms in force, and equity carried into them, as it would be with all past-due rent paid.</summary>
    internal Money RentPaidWithPastDue => fold.RentPaidWithPastDue;

    public string Serial => fold.Serial;

    public string Kind => fold.Kind;

    public bool PlanElected => fold.PlanElected;

    /// <summary>What remains to fall due; inside a hold, as if the contract were released on this day.</summary>
    public RentSchedule Schedule =>
        Status == ContractStatus.OnHold ? fold.Schedule.ResumedOn(On) : fold.Schedule;

    /// <summary>Every charge so far, reversed ones included, in the order in which they arose.</summary>
    public IReadOnlyList<Charge> Charges => fold.Allocation.Charges;

    /// <summary>What is unpaid, in the order in which money will pay it.</summary>
    public IReadOnlyList<ChargeItem> OpenItems => fold.Allocation.Open;

    /// <summary>Installments that have fallen due, those taken back included.</summary>
    internal int InstallmentsCharged => fold.Allocation.Installments;

    /// <summary>Those of them of which something is unpaid.</summary>
    internal int InstallmentsUnpaid => fold.Allocation.InstallmentsUnpaid;

    public Money PastDue => fold.Allocation.PastDue;

    public Money OpenRent => fold.Allocation.OpenRent;

    public Money UnappliedCredit => fold.Allocation.Unapplied;

    public Money GoodwillCredit => fold.Allocation.Goodwill;

    public Money Equity => fold.EquityNow(pastDuePaid: false);

    /// <summary>The equity this account would have with all past-due rent paid.</summary>
    public Money EquityWithPastDuePaid => fold.EquityNow(pastDuePaid: true);

    /// <summary>C, the share of all rent paid that counts (M46).</summary>
    public Money RentCredit => fold.RentCreditNow;

    /// <summary>Rent credit that does not count toward this instrument and has not been spent (M47, M84).</summary>
    public Money MerchandiseCredit => fold.MerchandiseCredit;

    /// <summary>Merchandise credit spent on sales so far (M84).</summary>
    public Money MerchandiseSpent => fold.MerchandiseSpent;

    public Money CarriedEquity => fold.CarriedEquity;

    /// <summary>Written off and not recovered: a matter of the books, never of what is owed.</summary>
    public Money WrittenOff => fold.WrittenOff;

    public bool HasWriteOff => fold.HasWriteOff;

    /// <summary>Owned, returned, stepped up, lost or cancelled: nothing more falls due and nothing can be bought.</summary>
    public bool HasEnded => Status is not (ContractStatus.Signed or ContractStatus.Active or ContractStatus.OnHold);

    /// <summary>The day ownership passed, or null while it has not.</summary>
    public LocalDate? OwnedOn => fold.OwnedOn;

    /// <summary>How ownership passed: by schedule, by early purchase, or by paying for a loss.</summary>
    public string OwnedBy => fold.OwnedBy;

    /// <summary>What the payment of a key has paid by this day, in the order in which it did, and what of it waits for what falls due.</summary>
    public (IReadOnlyList<(ChargeItem Item, Money Amount)> Paid, Money Waiting) PaidBy(string payment) => fold.Allocation.PaidBy(payment);

    /// <summary>The fact that brought the terms in force: the signing or an exchange.</summary>
    public Recorded TermsFact => TermsFactAt(On);

    /// <summary>The fact that a charge follows from: a sale or an event of its own day, else the terms it was charged under.</summary>
    internal Recorded CauseOf(Charge charge) =>
        (charge.Sequence > 0 ? History.Facts.FirstOrDefault(fact => fact.Sequence == charge.Sequence) : null) ?? TermsFactAt(charge.DueOn);

    private Recorded TermsFactAt(LocalDate day) => History.Facts
        .Where(fact => fact.Event is ContractEvent.Signed || (fact.Event is ContractEvent.InstrumentExchanged && fact.Event.On <= day && !IsOvertaken(fact.Sequence)))
        .OrderBy(fact => fact.Event.On).ThenBy(fact => fact.Sequence).Last();

    internal PaidTotals Paid => fold.Allocation.Paid;

    /// <summary>Whether a known fact has no effect in this view.</summary>
    public bool IsOvertaken(long sequence) => fold.IsOvertaken(sequence);

    /// <summary>
    /// The tax entry of the contract's jurisdiction on a day, as known here and as it meets this contract: where the tax
    /// was collected at delivery it takes none from rents and purchases any more.
    /// </summary>
    public TaxEntry TaxOn(LocalDate day) => fold.TaxOn(day);

    /// <summary>Whether the rental begins with a delivery that is not known here: no due date is fixed (M83).</summary>
    public bool AwaitsDelivery => fold.AwaitsDelivery;

    /// <summary>The tax on all rents that will fall due with the next installment; null where none will (M80).</summary>
    public Money? DeliveryTaxAhead => fold.DeliveryTaxAhead;

    /// <summary>What of a delivery tax would be taken back if the instrument came back at the end of this day (M81).</summary>
    public Money DeliveryTaxIfReturned => fold.DeliveryTaxIfReturned;
}
