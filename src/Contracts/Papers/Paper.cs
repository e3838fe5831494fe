using System.Text.Json.Serialization;
using Contracts.Disclosures;
using Contracts.Equity;
using NodaTime;

namespace Contracts.Papers;

/// <summary>
/// What one paper shows, and nothing else: a view of one account on a day, as known at a moment, and the part that belongs
/// to its kind. A template puts it into words; this and the template make the bytes.
/// </summary>
/// <remarks>Rent-to-own disclosure rules vary by state. Not legal, tax or accounting advice; counsel decides.</remarks>
/// <param name="Kind">The word of its kind.</param>
/// <param name="Contract">The contract's id.</param>
/// <param name="Household">The shop's reference for the family.</param>
/// <param name="Shop">The shop that signed.</param>
/// <param name="State">The state the contract is under on the day.</param>
/// <param name="Instrument">The instrument on the day.</param>
/// <param name="On">As of the end of this day.</param>
/// <param name="Known">As known at this moment.</param>
/// <param name="Terms">Which terms are in force.</param>
/// <param name="LawPack">The law pack referred to, or null where none is recorded.</param>
/// <param name="Status">The account's status.</param>
/// <param name="Figures">The totals a consumer is owed (docs/money.md, M64 to M68).</param>
public sealed record Paper(
    string Kind, string Contract, string Household, string Shop, string State, PaperInstrument Instrument,
    LocalDate On, Instant Known, TermsInForce Terms, string? LawPack, string Status, PaperFigures Figures)
{
    /// <summary>What an agreement says beside the view.</summary>
    public AgreementPart? Agreement { get; init; }

    /// <summary>What a receipt says.</summary>
    public ReceiptPart? Receipt { get; init; }

    /// <summary>What a statement says.</summary>
    public StatementPart? Statement { get; init; }

    /// <summary>What an early purchase letter says.</summary>
    public OfferPart? Offer { get; init; }

    /// <summary>What a confirmation of an exchange says.</summary>
    public ExchangePart? Exchange { get; init; }

    /// <summary>What a confirmation of a return says.</summary>
    public ReturnPart? Return { get; init; }

    /// <summary>What a default notice says.</summary>
    public DefaultPart? Default { get; init; }

    /// <summary>What a bill of sale says.</summary>
    public SalePart? Sale { get; init; }

    /// <summary>What a final-payment notice says.</summary>
    public FinalPart? Final { get; init; }

    /// <summary>What an answer to a dispute says. Left out elsewhere: papers issued before there were such answers keep their digests.</summary>
    [JsonIgnore(Condition = JsonIgnoreCondition.WhenWritingNull)]
    public DisputePart? Dispute { get; init; }

    /// <summary>What the paper is called where its templates, which never change, do not know its kind; left out elsewhere.</summary>
    [JsonIgnore(Condition = JsonIgnoreCondition.WhenWritingNull)]
    public string? Title { get; init; }
}

/// <summary>An instrument as a paper names it; the condition only where the contract says it.</summary>
public sealed record PaperInstrument(string Kind, string Serial, string? Condition);

/// <summary>Which terms are in force: the first are those signed, each exchange brings the next.</summary>
/// <param name="Version">Their number, from 1.</param>
/// <param name="Since">The day that brought them.</param>
public sealed record TermsInForce(int Version, LocalDate Since);

/// <summary>The figures of the account, under the names and with the meanings that docs/interface.md gives them.</summary>
public sealed record PaperFigures(
    Money Equity, Money CarriedEquity, Money RemainingToOwn, Money PastDue, Money UnappliedCredit, Money GoodwillCredit,
    Money MerchandiseCredit, EarlyPurchase EarlyPurchase, PaidFigures Paid, InstallmentCounts Installments,
    Money RemainingBySchedule, Money TotalCost, Money CostOfRental, NextDue? NextDue)
{
    /// <summary>The figures of an account.</summary>
    public static PaperFigures Of(Account account) => new(
        account.Equity, account.CarriedEquity, account.RemainingToOwn, account.PastDue, account.UnappliedCredit, account.GoodwillCredit,
        account.MerchandiseCredit, account.EarlyPurchase, account.Paid, account.Installments,
        account.RemainingBySchedule, account.TotalCost, account.CostOfRental, account.NextDue);
}
