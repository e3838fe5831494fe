namespace Contracts.Agreements;

/// <summary>
/// Why a command was not carried out. The number and the code are public, stable and never reused;
/// docs/refusals.md has the sentence, the rule and what to do for each.
/// </summary>
public enum RefusalCode
{
    // What was sent cannot be read.
    MalformedLine = 1,
    UnknownCommand = 2,
    FieldMissing = 3,
    FieldUnknown = 4,
    FieldRepeated = 5,
    FieldInvalid = 6,
    AmountInvalid = 7,
    DateInvalid = 8,
    LineTooLong = 9,

    // The two clocks.
    ClockNotSimulated = 20,
    AtMissing = 21,
    AtGoesBack = 22,
    OnTooFarAhead = 23,
    OnBeforeSigning = 24,
    LaterEvent = 25,
    TooLate = 26,

    // Programme and law.
    RateInUse = 40,
    JurisdictionUnknown = 41,
    StateUnknown = 42,
    UnlawfulTerms = 43,
    LawPackInvalid = 44,
    LawPackNotNew = 45,
    DisclosureMissing = 46,

    // The contract.
    ContractUnknown = 60,
    ContractAlreadySigned = 61,
    StartBeforeSigning = 62,
    TermsInvalid = 63,
    InstrumentOnOpenContract = 64,
    StatusForbids = 65,
    ReasonMissing = 66,
    ContractMoved = 67,
    DeliveryNotAwaited = 68,
    DeliveryDayWrong = 69,

    // Money.
    AmountNotPositive = 80,
    PurchaseAmountWrong = 81,
    RefundExceedsCredit = 82,
    PaymentUnknown = 83,
    PaymentAlreadyReversed = 84,
    ReversalBeforePayment = 85,
    FeeUnknown = 86,
    FeeAlreadyWaived = 87,
    WriteOffExceedsPastDue = 88,
    RecoveryExceedsWriteOff = 89,

    // Instruments and what ends a contract.
    SerialUnchanged = 100,
    ReturnByBeforeSwap = 101,
    UnitNotOnContract = 102,
    PlanNotOffered = 103,
    ReinstatementPastDue = 104,
    ReinstatementWindowPassed = 105,
    ShareInvalid = 106,
    MerchandiseExceedsCredit = 107,

    // The books.
    ChartInvalid = 120,
    MonthNotOver = 121,
    MonthAlreadyClosed = 122,
    MonthGap = 123,
    MonthNotClosed = 124,
    CloseCheckFailed = 125,
    ShopWithoutCalendar = 126,
    CalendarInUse = 127,

    // Papers.
    PaperSubjectUnknown = 140,
    PaperDayWrong = 141,
    PaperNotDue = 142,
    PaperNotMade = 143,
    PaperUnknown = 144,
    PaperDiffers = 145,

    // Quotes.
    QuoteUnknown = 160,
    QuoteAlreadyGiven = 161,
    QuoteExpired = 162,
    QuoteDiffers = 163,
    QuoteEndsBeforeGiven = 164,

    // Households.
    HouseholdUnknown = 180,
    HouseholdErased = 181,
    HouseholdInUse = 182,
    HouseholdRetained = 183,
    PersonalFactRefused = 184,
    HouseholdWithoutContract = 185,
    HouseholdPaymentUnclear = 186,
    HouseholdSharesDiffer = 187,
    HouseholdContractOther = 188,

    // Seals.
    CheckpointUnknown = 190,

    // Proposals.
    ProposalUnknown = 200,
    ProposalAlreadyMade = 201,
    ProposalSettled = 202,
    SecondPersonNeeded = 203,

    // Disputes and holds.
    DisputeUnknown = 204,
    DisputeAlreadyOpened = 205,
    DisputeEnded = 206,
    DisputeNotAnswered = 207,
    DisputeHoldStands = 208,
    DisputeSubjectUnknown = 209,
    PaymentNotToBeAsked = 210,

    // A book that is taken over.
    BookUnreadable = 211,
    BookMappingInvalid = 212,
    BookDoesNotReconcile = 213,
    BookAlreadyTakenOver = 214,

    // Money files.
    MoneyFileUnreadable = 215,
    MoneyFileDoesNotAddUp = 216,
    MoneyFileCurrency = 217,
    MoneyMappingInvalid = 218,
    EntryUnknown = 219,
    EntrySettled = 220,
    EntrySharesDiffer = 221,
    ReturnCodeUnknown = 222,
    EntryDirectionWrong = 223,

    // Units of the fleet.
    UnitUnknown = 225,
    UnitAlreadyAcquired = 226,
    UnitNotInspected = 227,
    UnitStatusForbids = 228,
    UnitLaterEvent = 229,
    UnitKindDiffers = 230,
    ChecklistUnknown = 231,
    InspectionIncomplete = 232,
    UnitNotDueBack = 233,
    DamageUnknown = 234,
    RepairFeeNotTold = 235,
}

/// <summary>
/// A refusal: its code, a sentence for the person who asked, the field at fault, the figure that would be right,
/// and the citation of the rule where a statute or a page of this project states it.
/// </summary>
public sealed record Refusal(
    RefusalCode Code, string Detail, string? Field = null, string? RightFigure = null, string? Citation = null)
{
    /// <summary>The code as files and problems write it, such as <c>later-event</c>.</summary>
    public string Slug => SlugOf(Code);

    public static string SlugOf(RefusalCode code)
    {
        var slug = new System.Text.StringBuilder();
        foreach (var letter in code.ToString())
        {
            if (char.IsUpper(letter) && slug.Length > 0) { slug.Append('-'); }
            slug.Append(char.ToLowerInvariant(letter));
        }

        return slug.ToString();
    }
}
