using System.Collections.Immutable;
using System.Text.Json.Serialization;
using Contracts.Disclosures;
using Contracts.Disputes;
using Contracts.Instruments;
using Contracts.Terms;
using NodaTime;

namespace Contracts.Papers;

/// <summary>Terms as a paper lists them; shares as percent in words, since they are only read.</summary>
public sealed record TermsSheet(
    Money CashPrice, Money PurchasePrice, int IntroductoryMonths, Money IntroductoryPayment, Money MonthlyRent, string CreditShare,
    ImmutableArray<DiscountTier> EarlyPurchase, Money? PlanMonthly, Money LateFee, int GraceDays, Money ReturnedPaymentFee)
{
    /// <summary>The sheet of some terms.</summary>
    public static TermsSheet Of(ContractTerms terms) => new(
        terms.CashPrice, terms.PurchasePrice, terms.Introductory.Months, terms.Introductory.Payment, terms.MonthlyRent,
        PrintedWords.Percent(terms.CreditShare),
        [.. terms.EarlyPurchase.Select(tier => new DiscountTier(tier.ThroughMonth, PrintedWords.Percent(tier.Discount)))],
        terms.Plan?.Monthly, terms.LateFee.Amount, terms.LateFee.GraceDays, terms.ReturnedPaymentFee);
}

/// <summary>A discount on what remains to own, through a month of the contract or, without one, from then on.</summary>
public sealed record DiscountTier(int? ThroughMonth, string Discount);

/// <summary>An agreement: what was signed, every payment to ownership, and the disclosure sheet.</summary>
/// <param name="Key">The key of the signing.</param>
/// <param name="SignedOn">The day it was signed.</param>
/// <param name="StartOn">The first day of the rental, or the one expected.</param>
/// <param name="Terms">The terms.</param>
/// <param name="PlanElected">Whether the plan is elected.</param>
/// <param name="Accessories">What was bought with it.</param>
/// <param name="Payments">Every payment to ownership.</param>
/// <param name="Disclosures">The sheet.</param>
/// <param name="StartsAtDelivery">Whether the rental begins with the delivery (M83); null, and left out, in forms from before that could be agreed.</param>
public sealed record AgreementPart(
    string Key, LocalDate SignedOn, LocalDate StartOn, TermsSheet Terms, bool PlanElected, ImmutableArray<Accessory> Accessories,
    ImmutableArray<PaymentRun> Payments, ImmutableArray<DisclosureLine> Disclosures,
    [property: JsonIgnore(Condition = JsonIgnoreCondition.WhenWritingNull)] bool? StartsAtDelivery = null);

/// <summary>A payment, the parts it paid by the end of its day, and what of it waits for what falls due next.</summary>
public sealed record ReceiptPart(
    string Payment, LocalDate PaidOn, Money Amount, string Method, string? Reference, ImmutableArray<PaidLine> Parts, Money Waiting,
    ImmutableArray<StatedFigure> States);

/// <summary>A figure that a receipt states, and the section that asks for it, or null where only the shop does.</summary>
/// <param name="Item">The code of the item.</param>
/// <param name="Heading">What the paper calls it.</param>
/// <param name="Amount">The figure.</param>
/// <param name="Citation">The section.</param>
public sealed record StatedFigure(string Item, string Heading, Money Amount, string? Citation);

/// <summary>One part of a charge, and how much of the payment went to it.</summary>
public sealed record PaidLine(string Charge, string What, string Part, LocalDate DueOn, Money Amount);

/// <summary>Every charge so far, every movement of money so far, and their sums.</summary>
public sealed record StatementPart(ImmutableArray<ChargeLine> Charges, Money Charged, ImmutableArray<MoneyLine> Money, Money Received);

/// <summary>A charge by its parts; one taken back counts in no sum.</summary>
/// <param name="Id">Its id.</param>
/// <param name="What">The word of its kind.</param>
/// <param name="DueOn">The day it is owed from.</param>
/// <param name="Rent">Rent in it.</param>
/// <param name="Plan">Protection plan in it.</param>
/// <param name="Other">A fee or a price in it.</param>
/// <param name="Tax">Tax in it.</param>
/// <param name="Total">All of it.</param>
/// <param name="Open">What of it is unpaid.</param>
/// <param name="ReversedOn">The day it was taken back, or null while it stands.</param>
public sealed record ChargeLine(
    string Id, string What, LocalDate DueOn, Money Rent, Money Plan, Money Other, Money Tax, Money Total, Money Open, LocalDate? ReversedOn);

/// <summary>Money that came in, positive, or went back, negative; goodwill is no money and stands apart.</summary>
public sealed record MoneyLine(LocalDate On, string What, string Key, string? Method, string? Reference, Money Amount, Money Goodwill);

/// <summary>How long the payoff stays what it is if nothing is paid, and what it is the day after.</summary>
/// <param name="HoldsThrough">The last day with this payoff, or null where no day of the next two months changes it.</param>
/// <param name="NextPayoff">The payoff of the day after it.</param>
public sealed record OfferPart(LocalDate? HoldsThrough, Money? NextPayoff);

/// <summary>
/// An exchange: what was given back, what was taken, and what became of the equity; and the section by which it is a new
/// agreement that needs new disclosures, which then follow, or null where none says so.
/// </summary>
public sealed record ExchangePart(
    string Key, LocalDate ExchangedOn, PaperInstrument Old, Money EquityBefore, Money RemainingBefore,
    TermsSheet Terms, ImmutableArray<Accessory> Accessories, ImmutableArray<PaymentRun> Payments, string? NewAgreement,
    ImmutableArray<DisclosureLine>? Disclosures);

/// <summary>A return: the condition as recorded, and the last day to go on with the contract, if there is one, with the section that sets it.</summary>
public sealed record ReturnPart(string Key, LocalDate ReturnedOn, string? Condition, LocalDate? ReinstateThrough, string? Section);

/// <summary>
/// What is past due by its parts, and how the contract can go on: after a return through a day, with the section that sets
/// it; before one, in words for how long it could.
/// </summary>
public sealed record DefaultPart(
    ImmutableArray<OpenItem> Items, Money LateFee, int GraceDays, LocalDate? ReturnedOn, LocalDate? ReinstateThrough, string? Section, string Window);

/// <summary>The day ownership passed, and by what.</summary>
public sealed record SalePart(LocalDate OwnedOn, string OwnedBy);

/// <summary>The one payment that is left, and what is to be paid by then: with what is past due, less credit that waits.</summary>
public sealed record FinalPart(LocalDate DueOn, Money Payment, Money ToPay);

/// <summary>A dispute and its answer, with both readings of the day in question.</summary>
public sealed record DisputePart(
    string Dispute, LocalDate OpenedOn, string Claim, string Says, ImmutableArray<AttachedPaper> Papers, LocalDate AnsweredOn, string Finding, string Answer,
    LocalDate On, Instant SaidAt, ImmutableArray<TwoReadings> Figures, int Same, ImmutableArray<LearnedSince> Since);

/// <summary>A fact that was recorded after what was said, of the day in question or before.</summary>
public sealed record LearnedSince(LocalDate On, Instant RecordedAt, string Says, Money? Amount);
