using System.Collections.Immutable;
using Contracts.Households;
using Contracts.Instruments;
using Contracts.Terms;
using NodaTime;

namespace Contracts.Agreements;

/// <summary>What every command carries.</summary>
/// <param name="Key">Its idempotency key.</param>
/// <param name="By">Who asks.</param>
/// <param name="Reason">Why, where the command must say so.</param>
/// <param name="Approved">The second person, where one person proposed it and another approved it.</param>
/// <param name="Trace">The W3C trace id of the request that brought it over HTTP, 32 hexadecimal digits; null for any other way.</param>
public sealed record CommandOrigin(string Key, string? By, string? Reason, string? Approved = null, string? Trace = null);

/// <summary>Something the shop asks the engine to do. Commands on one contract are <see cref="OnContract"/>.</summary>
public abstract record Command
{
    private Command() { }

    public required CommandOrigin Origin { get; init; }

    /// <summary>A jurisdiction's combined rate from a day on, and what it taxes.</summary>
    public sealed record SetTax(string Jurisdiction, TaxEntry Entry) : Command;

    /// <summary>The billing run over the whole portfolio: records and documents, never changes a figure.</summary>
    public sealed record Bill(LocalDate Through) : Command;

    /// <summary>Gives a shop a calendar: the month in which its books begin.</summary>
    public sealed record SetCalendar(string Shop, YearMonth FirstMonth) : Command;

    /// <summary>Takes over a law pack, given as the text of its file, with what counsel said of it.</summary>
    public sealed record AdoptLaw(string Pack, string? CounselNote) : Command;

    /// <summary>Closes a month of the books for good; the billing run through its end comes first.</summary>
    public sealed record Close(YearMonth Month) : Command;

    /// <summary>Gives a family a quote under a name, to hold through a day.</summary>
    public sealed record GiveQuote(string Quote, LocalDate On, Offer Offer, LocalDate ValidThrough) : Command;

    /// <summary>
    /// Says what is known of a family from now on. The facts go to the vault; what is recorded are the digests
    /// of their salted texts, which the store fills in.
    /// </summary>
    public sealed record DescribeHousehold(string Household, ImmutableArray<PersonalFact> Facts) : Command
    {
        /// <summary>The digests of the facts as the vault has them; empty until it has.</summary>
        public ImmutableArray<string> Digests { get; init; } = [];
    }

    /// <summary>Destroys for good what the vault has of a family.</summary>
    public sealed record EraseHousehold(string Household) : Command;

    /// <summary>One payment of a family over its contracts: dealt out as it says, or the oldest due first.</summary>
    /// <param name="Household">The family's reference.</param>
    /// <param name="On">The day it was made.</param>
    /// <param name="Amount">All of it, in whole cents.</param>
    /// <param name="Method">How the money came.</param>
    /// <param name="Reference">The receipt's or payment's reference, or null.</param>
    /// <param name="Shares">The contracts and how much each is paid; empty where the oldest due is paid first.</param>
    public sealed record PayHousehold(
        string Household, LocalDate On, Money Amount, string Method, string? Reference, ImmutableArray<EntryShare> Shares) : Command;

    /// <summary>Proposes a change that somebody else is to approve.</summary>
    /// <param name="Proposal">The proposal's name.</param>
    /// <param name="Text">The change as it was written.</param>
    /// <param name="Change">The same, read: a command on one contract or a close.</param>
    public sealed record Propose(string Proposal, string Text, Command Change) : Command;

    /// <summary>Approves a proposal and carries it out; never by who made it.</summary>
    public sealed record Approve(string Proposal) : Command;

    /// <summary>Puts a proposal aside.</summary>
    public sealed record Decline(string Proposal) : Command;

    /// <summary>Something done to one unit of the fleet.</summary>
    public sealed record OnUnit(string Serial, LocalDate On, UnitCommand Body) : Command;

    /// <summary>Says what a line of a bank's file is about that waits for a person: payments of it, or the payment that came back.</summary>
    /// <param name="Entry">The line's name.</param>
    /// <param name="Shares">The contracts and how much each is paid; for a payment that came back its one contract.</param>
    /// <param name="Payment">The key of the payment that came back, or null.</param>
    /// <param name="Code">The return code, where the file has none.</param>
    public sealed record SettleEntry(string Entry, ImmutableArray<EntryShare> Shares, string? Payment, string? Code) : Command;

    /// <summary>Says that a line of a bank's file concerns no contract.</summary>
    /// <param name="Entry">The line's name.</param>
    public sealed record SetEntryAside(string Entry) : Command;

    public sealed record OnContract(string Contract, LocalDate On, ContractCommand Body) : Command;
}

/// <summary>The closed family of commands on one contract.</summary>
public abstract record ContractCommand
{
    private ContractCommand() { }

    public sealed record Sign(
        string Household, Instrument Instrument, string State, string Jurisdiction, LocalDate StartOn,
        ContractTerms Terms, ImmutableArray<Accessory> Accessories, bool WithPlan, string? Shop = null, string? Quote = null) : ContractCommand
    {
        /// <summary>Whether the rental begins on the day of delivery, the start date being the one expected (M83).</summary>
        public bool StartsAtDelivery { get; init; }
    }

    /// <summary>
    /// The instrument came to the family. Again, with a reason, where the day was recorded wrongly: dated on the true day when that is earlier, else on
    /// the wrong one with the true one named.
    /// </summary>
    public sealed record Deliver(LocalDate? DeliveredOn = null) : ContractCommand;

    public sealed record Pay(Money Amount, string Method, string? Reference) : ContractCommand;

    public sealed record ReversePayment(string Payment, string Code) : ContractCommand;

    public sealed record Refund(Money Amount) : ContractCommand;

    public sealed record Credit(Money Amount) : ContractCommand;

    public sealed record ElectPlan : ContractCommand;

    public sealed record CancelPlan : ContractCommand;

    /// <summary>Another unit of the same kind goes out; for the damage of a report where its key is named.</summary>
    public sealed record Swap(string Serial, LocalDate ReturnBy, string? Damage = null) : ContractCommand;

    /// <summary>The unit is damaged; the estimate is what a repair would cost a family without the plan.</summary>
    public sealed record ReportDamage(string Description, Money? Estimate) : ContractCommand;

    /// <summary>The family gets a label with which a carrier takes a unit back.</summary>
    public sealed record IssueLabel(string Serial, string Carrier, string Reference) : ContractCommand;

    /// <summary>The family says that something is wrong; about a fact or an issued paper where its key is named.</summary>
    public sealed record OpenDispute(string Dispute, string Claim, string Says, string? About = null) : ContractCommand;

    /// <summary>A paper that somebody brought, by its SHA-256.</summary>
    public sealed record AttachPaper(string Dispute, string Title, string Digest) : ContractCommand;

    /// <summary>What the shop found.</summary>
    public sealed record AnswerDispute(string Dispute, string Finding, string Says) : ContractCommand;

    /// <summary>The dispute ends.</summary>
    public sealed record CloseDispute(string Dispute, string Outcome) : ContractCommand;

    public sealed record ReceiveUnit(string Serial) : ContractCommand;

    public sealed record Exchange(
        Instrument Instrument, ContractTerms Terms, ImmutableArray<Accessory> Accessories) : ContractCommand;

    public sealed record Return(string? Condition) : ContractCommand;

    public sealed record Buy(Money Amount, string Method, string? Reference) : ContractCommand;

    public sealed record Waive(string Fee) : ContractCommand;

    public sealed record Move(string State, string Jurisdiction) : ContractCommand;

    /// <summary>Lost or stolen; what the unit would have sold for then, where somebody says so: some acts ask no more than that.</summary>
    public sealed record ReportLoss(string Kind, Money? MarketValue = null) : ContractCommand;

    /// <summary>Nothing falls due until a release; on one of the known grounds (<see cref="HoldGround"/>), or for the shop's own reason.</summary>
    public sealed record Hold(string? Ground = null) : ContractCommand;

    public sealed record Release : ContractCommand;

    public sealed record Reinstate(string? Serial) : ContractCommand;

    public sealed record StepUp(Rate Share, string Description, Money SalePrice) : ContractCommand;

    /// <summary>Merchandise credit goes into a sale of the shop (M84).</summary>
    /// <param name="Amount">How much of it.</param>
    /// <param name="Description">What is sold.</param>
    /// <param name="SalePrice">Its price, which the amount does not exceed.</param>
    public sealed record SpendCredit(Money Amount, string Description, Money SalePrice) : ContractCommand;

    public sealed record WriteOff(Money Amount) : ContractCommand;

    public sealed record Recover(Money Amount) : ContractCommand;

    /// <summary>Gives out a paper, on a fact of that key or on the account.</summary>
    public sealed record Issue(PaperKind Kind, string? For) : ContractCommand;
}
