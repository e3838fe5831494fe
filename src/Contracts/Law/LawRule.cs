using System.Collections.Immutable;
using System.Text.Json;
using NodaTime;

namespace Contracts.Law;

/// <summary>What every rule of a pack says about itself.</summary>
/// <param name="Kind">The kind, as the file writes it.</param>
/// <param name="Citation">The section, as figures and refusals name it.</param>
/// <param name="Verified">How it was verified.</param>
/// <param name="Source">The name of the text it was read in.</param>
/// <param name="From">The first day of agreements it holds for, or null.</param>
/// <param name="To">The last such day, or null.</param>
/// <param name="Loaded">False where it is known that there is such a rule, and its content was not read.</param>
/// <param name="Text">The rule as the file has it.</param>
public sealed record RuleHead(string Kind, string Citation, Verified Verified, string Source, LocalDate? From, LocalDate? To, bool Loaded, JsonElement Text);

/// <summary>One rule of a pack. The kinds are few and orthogonal; what the engine does not work with is kept as it is stated.</summary>
public abstract record LawRule(RuleHead Head)
{
    public string Kind => Head.Kind;

    public string Citation => Head.Citation;

    public bool Loaded => Head.Loaded;

    /// <summary>Whether its content was read, at least in part, so that the engine may act on it.</summary>
    public bool IsApplied => Head.Loaded && Head.Verified != Verified.FromMemory;

    public bool HoldsOn(LocalDate day) => (Head.From is not { } from || day >= from) && (Head.To is not { } to || day <= to);

    /// <summary>A rule that is kept and shown, and that the engine does not work with.</summary>
    public sealed record Stated(RuleHead Head) : LawRule(Head);

    /// <summary>A limit on a price: the subject is at most factor x base.</summary>
    /// <param name="Head">What every rule says.</param>
    /// <param name="Subject">What is limited.</param>
    /// <param name="Rental">For which rental of the unit.</param>
    /// <param name="Condition"><c>new</c> or <c>used</c> where it is for such units only.</param>
    /// <param name="Base">What it is measured by.</param>
    /// <param name="Factor">The factor that holds for musical instruments.</param>
    /// <param name="LessShareOfEarlierRents">What share of the unit's earlier rents lowers the limit.</param>
    /// <param name="Binding">False for a figure that is only evidence of a fair price.</param>
    public sealed record PriceCap(
        RuleHead Head, CapSubject Subject, WhichRental Rental, string? Condition, CapBase Base, Fraction Factor,
        Fraction LessShareOfEarlierRents, bool Binding) : LawRule(Head);

    /// <summary>Above factor x average retail value the agreement is a sale on credit.</summary>
    public sealed record CreditSaleTest(RuleHead Head, Fraction Factor) : LawRule(Head);

    /// <summary>The highest price at which the family may buy early: basis x times - share x rent paid.</summary>
    /// <param name="Head">What every rule says.</param>
    /// <param name="Formula">The basis.</param>
    /// <param name="Times">What the basis is multiplied by.</param>
    /// <param name="Share">The factor itself where <paramref name="Times"/> is a plain one.</param>
    /// <param name="LessShareOfPaid">The share of all rent paid that is taken off.</param>
    /// <param name="FloorOfOnePayment">Whether it is never below one periodic payment.</param>
    /// <param name="FromMonth">It holds from this many months after the signing on, or null.</param>
    /// <param name="BeforeMonth">It holds before this many months after the signing, or null.</param>
    public sealed record PurchasePrice(
        RuleHead Head, PriceFormula Formula, PriceTimes Times, Fraction Share, Fraction LessShareOfPaid, bool FloorOfOnePayment,
        int? FromMonth, int? BeforeMonth) : LawRule(Head);

    /// <summary>Title passes by itself once this share of all rent paid reaches the cash price.</summary>
    public sealed record OwnershipTrigger(RuleHead Head, Fraction Share) : LawRule(Head);

    /// <summary>A limit on a fee.</summary>
    /// <param name="Head">What every rule says.</param>
    /// <param name="Fee">Which fee: <c>late</c>, <c>reinstatement</c> and others.</param>
    /// <param name="Frequency">For which payments: <c>monthly</c>, <c>weekly</c>, <c>all</c> and others.</param>
    /// <param name="Forbidden">Whether there may be none at all.</param>
    /// <param name="LateFeeForbidden">Whether the rule also forbids a late fee beside the one it names.</param>
    /// <param name="Amount">The most it may be, or null where nothing can be computed from what the act says.</param>
    /// <param name="Graces">How late a payment must be.</param>
    public sealed record FeeCap(
        RuleHead Head, string Fee, string Frequency, bool Forbidden, bool LateFeeForbidden, FeeAmount? Amount,
        ImmutableArray<Grace> Graces) : LawRule(Head);

    /// <summary>How long after a return the family may have the contract back.</summary>
    public sealed record Reinstatement(RuleHead Head, ImmutableArray<BaseWindow> Base, ImmutableArray<WindowTier> AfterReturn, bool AfterRepossession) : LawRule(Head);

    /// <summary>A change of the average payment by more than this share makes a new agreement with new disclosures.</summary>
    public sealed record NewAgreement(RuleHead Head, Fraction? ChangeShare) : LawRule(Head);

    /// <summary>What must be disclosed, and where.</summary>
    /// <param name="Head">What every rule says.</param>
    /// <param name="Placement">Where: <c>agreement</c>, <c>receipt</c>, <c>tag</c> and others.</param>
    /// <param name="Items">The words of the items.</param>
    /// <param name="RequiredAtSigning">
    /// Whether a signing is refused that leaves out the fact of any item. Otherwise a fact that a signing may leave out is
    /// asked for when the agreement is issued.
    /// </param>
    public sealed record Disclosure(RuleHead Head, string Placement, ImmutableArray<string> Items, bool RequiredAtSigning) : LawRule(Head);

    /// <summary>The least share of each payment that must count toward ownership.</summary>
    public sealed record MinimumCreditShare(RuleHead Head, Fraction Share) : LawRule(Head);

    /// <summary>The most that may be asked for a unit that is lost or does not come back: the least of several figures.</summary>
    /// <param name="Head">What every rule says.</param>
    /// <param name="LesserOf">The figures; those that need a fact nobody gave do not count.</param>
    /// <param name="Binding">False for a rule that is not about what a family owes.</param>
    public sealed record LossCap(RuleHead Head, ImmutableArray<LossBasis> LesserOf, bool Binding) : LawRule(Head);

    /// <summary>Which of several payments past due money pays first.</summary>
    public sealed record AllocationOrder(RuleHead Head, bool NewestFirst) : LawRule(Head);

    /// <summary>When a receipt is owed, and what it states.</summary>
    public sealed record Receipt(RuleHead Head, string Trigger, bool OnRequest, ImmutableArray<string> Items) : LawRule(Head);

    /// <summary>The most that an optional waiver of liability, such as a protection plan, may cost.</summary>
    public sealed record Waiver(RuleHead Head, ImmutableArray<(string Frequency, FeeAmount Amount)> Price) : LawRule(Head);
}
