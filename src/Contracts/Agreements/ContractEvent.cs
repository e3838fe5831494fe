using System.Collections.Immutable;
using System.Text.Json.Serialization;
using Contracts.Instruments;
using Contracts.Terms;
using NodaTime;

namespace Contracts.Agreements;

/// <summary>
/// A fact about one contract. Every name and field here is stored for ever: add, never rename or remove.
/// </summary>
/// <remarks>
/// Who, why, when it was recorded and which command brought it are the store's to keep (<see cref="History.Recorded"/>).
/// The second group, from <see cref="InstallmentCharged"/> on, is <i>noted</i>: it records what terms and dates made
/// fall due, and never changes a figure.
/// </remarks>
public abstract record ContractEvent
{
    private ContractEvent() { }

    /// <summary>The day the fact is about, in the shop's calendar.</summary>
    public required LocalDate On { get; init; }

    /// <summary>A contract is signed, under the law pack named; null in events from before packs were recorded and where none is loaded.</summary>
    public sealed record Signed(
        string Household, Instrument Instrument, string State, string Jurisdiction, LocalDate StartOn,
        ContractTerms Terms, ImmutableArray<Accessory> Accessories, bool WithPlan, string? Shop = null, string? Quote = null,
        string? LawPack = null) : ContractEvent
    {
        /// <summary>
        /// Whether the rental begins on the day the instrument is delivered: the start date is then the one expected, and nothing falls due before the
        /// delivery is known (M83). Left out where it does not, so that an event from before this could be agreed is stored and read as it was.
        /// </summary>
        [JsonIgnore(Condition = JsonIgnoreCondition.WhenWritingDefault)]
        public bool StartsAtDelivery { get; init; }

        /// <summary>The shop of a contract that names none.</summary>
        public const string MainShop = "main";
    }

    public sealed record PaymentReceived(Money Amount, string Method, string? Reference) : ContractEvent;

    /// <summary>A payment taken back: by the bank with its return reason code, or as an entry error.</summary>
    public sealed record PaymentReversed(string Payment, string Code) : ContractEvent;

    public sealed record RefundIssued(Money Amount) : ContractEvent;

    /// <summary>Goodwill: pays plan, tax, accessories and fees, never rent, and is never refunded.</summary>
    public sealed record CreditGiven(Money Amount) : ContractEvent;

    /// <summary>The instrument came to the family, which begins a rental that begins at delivery (M83).</summary>
    /// <param name="DeliveredOn">The day it really came, where the fact is dated on the day that was recorded wrongly; null where it is the fact's own.</param>
    public sealed record InstrumentDelivered(LocalDate? DeliveredOn = null) : ContractEvent;

    public sealed record PlanElected : ContractEvent;

    public sealed record PlanCancelled : ContractEvent;

    /// <summary>
    /// Same kind, another serial. The fee for a unit that does not come back is fixed and told now, with the section that made
    /// it less than the early purchase price, where one did.
    /// </summary>
    /// <param name="Outgoing">The unit that is due back.</param>
    /// <param name="Serial">The unit that went out.</param>
    /// <param name="ReturnBy">The last day on which it comes back without a fee.</param>
    /// <param name="UnreturnedFee">That fee.</param>
    /// <param name="LimitedBy">The section that made it less.</param>
    /// <param name="Damage">The key of the damage report it follows; null where none was recorded.</param>
    public sealed record InstrumentSwapped(
        string Outgoing, string Serial, LocalDate ReturnBy, Money UnreturnedFee, string? LimitedBy = null, string? Damage = null) : ContractEvent;

    /// <summary>The unit is damaged. What a repair would cost the family is told now and is no charge: no figure of the account knows it.</summary>
    /// <param name="Serial">The unit.</param>
    /// <param name="Description">What is wrong with it, as told.</param>
    /// <param name="Covered">Whether the protection plan was elected on the day.</param>
    /// <param name="RepairFee">What the family was told: nothing under the plan; null where no figure was told.</param>
    public sealed record DamageReported(string Serial, string Description, bool Covered, Money? RepairFee) : ContractEvent;

    /// <summary>The family was given a label with which a carrier takes the unit back.</summary>
    public sealed record LabelIssued(string Serial, string Carrier, string Reference) : ContractEvent;

    /// <summary>The family says that something is wrong.</summary>
    /// <param name="Dispute">The name of the dispute, one of its contract's.</param>
    /// <param name="Claim">What kind of thing is said to be wrong (<see cref="DisputeWords.Claims"/>).</param>
    /// <param name="Says">The claim, in few words and without names.</param>
    /// <param name="About">The key of the fact or the issued paper that it is about, or null.</param>
    public sealed record DisputeOpened(string Dispute, string Claim, string Says, string? About) : ContractEvent;

    /// <summary>A paper was put to a dispute; the shop keeps the paper, the history its digest.</summary>
    /// <param name="Dispute">The dispute.</param>
    /// <param name="Title">What the paper is.</param>
    /// <param name="Digest">SHA-256 of its bytes, in lower-case hex.</param>
    public sealed record DisputePaperAttached(string Dispute, string Title, string Digest) : ContractEvent;

    /// <summary>What the shop found. What it puts right are facts of their own.</summary>
    /// <param name="Dispute">The dispute.</param>
    /// <param name="Finding">Whether the family was right (<see cref="DisputeWords.Findings"/>).</param>
    /// <param name="Says">The answer, in few words and without names.</param>
    public sealed record DisputeAnswered(string Dispute, string Finding, string Says) : ContractEvent;

    /// <summary>The dispute is over.</summary>
    /// <param name="Dispute">The dispute.</param>
    /// <param name="Outcome">How it ended (<see cref="DisputeWords.Outcomes"/>).</param>
    public sealed record DisputeClosed(string Dispute, string Outcome) : ContractEvent;

    public sealed record UnitReceived(string Serial) : ContractEvent;

    /// <summary>Another instrument on other terms; the section by which it is a new agreement that needs new disclosures, where one says so.</summary>
    public sealed record InstrumentExchanged(
        Instrument Instrument, ContractTerms Terms, ImmutableArray<Accessory> Accessories, string? NewAgreement = null) : ContractEvent;

    public sealed record Returned(string? Condition) : ContractEvent;

    /// <summary>An early purchase: price, its basis and the sale tax are fixed on the day.</summary>
    public sealed record BoughtEarly(
        Money Amount, string Method, string? Reference, Money Price, string Basis, Money Tax) : ContractEvent;

    public sealed record FeeWaived(string Fee) : ContractEvent;

    /// <summary>The family moves; from that day on the law pack named is the contract's.</summary>
    public sealed record Moved(string State, string Jurisdiction, string? LawPack = null) : ContractEvent;

    /// <summary>Lost or stolen: what the family owes for it is the early purchase price of the day, or less where the act says so.</summary>
    /// <param name="Kind">How it went.</param>
    /// <param name="Charge">What is owed for it, fixed now.</param>
    /// <param name="MarketValue">What it would have sold for then, where somebody said so.</param>
    /// <param name="LimitedBy">The section that made the charge less than the early purchase price, or null.</param>
    public sealed record LossReported(string Kind, Money Charge, Money? MarketValue = null, string? LimitedBy = null) : ContractEvent;

    /// <summary>Nothing falls due until a release.</summary>
    /// <param name="Ground">The word of its <see cref="HoldGround"/>; null for a reason of the shop's own.</param>
    public sealed record Held(string? Ground = null) : ContractEvent;

    public sealed record Released : ContractEvent;

    public sealed record Reinstated(string? Serial) : ContractEvent;

    public sealed record SteppedUp(Rate Share, string Description, Money SalePrice, Money Credit) : ContractEvent;

    /// <summary>Merchandise credit went into a sale of the shop (M84). It stays spent, whatever becomes of the rent it came from.</summary>
    /// <param name="Amount">How much of it.</param>
    /// <param name="Description">What was sold.</param>
    /// <param name="SalePrice">Its price.</param>
    public sealed record MerchandiseCreditSpent(Money Amount, string Description, Money SalePrice) : ContractEvent;

    public sealed record WrittenOff(Money Amount) : ContractEvent;

    public sealed record Recovered(Money Amount) : ContractEvent;

    public sealed record InstallmentCharged(Money Tax, Money Rent, Money Plan) : ContractEvent;

    public sealed record InstallmentReversed(Money Tax, Money Rent, Money Plan) : ContractEvent;

    public sealed record FeeCharged(string Fee, Money Amount, Money Tax) : ContractEvent;

    public sealed record FeeReversed(string Fee, Money Amount, Money Tax) : ContractEvent;

    public sealed record OwnershipTransferred(string Basis) : ContractEvent;

    /// <summary>
    /// A paper was given out. What made it is kept, and digests of it, so that it can be made again and a difference named:
    /// the facts and rates it was read from, the data it shows, the template, and the bytes.
    /// </summary>
    /// <param name="Kind">The word of its <see cref="PaperKind"/>.</param>
    /// <param name="For">The key of the fact it is about, or null where it is about the account.</param>
    /// <param name="Known">The knowledge it was made from, as it says itself.</param>
    /// <param name="ThroughSequence">The last event that counted, since several can share a moment.</param>
    /// <param name="Template">Kind and version of the template, such as <c>receipt.1</c>.</param>
    /// <param name="TemplateDigest">SHA-256 of everything the template consists of.</param>
    /// <param name="MediaType">What the bytes are.</param>
    /// <param name="Digest">SHA-256 of the bytes.</param>
    /// <param name="DataDigest">SHA-256 of the data as canonical JSON.</param>
    /// <param name="FactsDigest">SHA-256 of the stored facts and rates behind the data.</param>
    /// <param name="Rules">The program that made it.</param>
    /// <param name="LawPack">The law pack it refers to, or null where none is recorded.</param>
    public sealed record DocumentIssued(
        string Kind, string? For, Instant Known, long ThroughSequence, string Template, string TemplateDigest, string MediaType,
        string Digest, string DataDigest, string FactsDigest, string Rules, string? LawPack) : ContractEvent;

    /// <summary>Whether the event only notes what terms, dates and earlier facts already imply.</summary>
    public bool IsNote =>
        this is InstallmentCharged or InstallmentReversed or FeeCharged or FeeReversed or OwnershipTransferred or DocumentIssued;

    /// <summary>Whether the event says that its day has been told: a paper may look at a day without anything falling due in the books.</summary>
    public bool TellsItsDay => this is not DocumentIssued;
}
