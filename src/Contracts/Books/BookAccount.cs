namespace Contracts.Books;

/// <summary>
/// What an account is for. The rules post to these; the chart gives each its number, its name and its side.
/// The numbers are stored with every posting: add, never change.
/// </summary>
public enum BookAccount
{
    /// <summary>Money without a place of its own, and the account refunds are paid from.</summary>
    CashOperating = 100,

    CashDrawer = 101,

    CardClearing = 105,

    /// <summary>Debits and credits through the bank that have been sent and not yet shown on a statement.</summary>
    BankClearing = 106,

    ChecksReceived = 107,

    /// <summary>Rent, plan and tax that fell due.</summary>
    ReceivableInstallments = 110,

    ReceivableFees = 111,

    /// <summary>Charges for units lost, stolen or not brought back.</summary>
    ReceivableLosses = 112,

    /// <summary>Accessories and early purchases.</summary>
    ReceivableSales = 113,

    /// <summary>Money refunded that a later reversal took away.</summary>
    RefundsToRecover = 114,

    /// <summary>Contra to the receivables: written off in the books, still owed by the family.</summary>
    ReceivablesWrittenOff = 119,

    /// <summary>Units owned and not on rent; what the shop buys is entered here by the shop's own books.</summary>
    FleetInStore = 130,

    FleetOnRent = 131,

    AccumulatedDepreciation = 139,

    /// <summary>By authority.</summary>
    SalesTaxPayable = 210,

    /// <summary>Tax charged on what was written off, to be claimed back where the law lets it.</summary>
    SalesTaxOnBadDebts = 219,

    DeferredRent = 230,

    DeferredPlan = 231,

    /// <summary>Money received that nothing has taken yet.</summary>
    UnappliedCredit = 240,

    GoodwillCredit = 241,

    /// <summary>Rent credit above the price of the instrument: spent on other goods, never paid out.</summary>
    MerchandiseCredit = 242,

    /// <summary>Credit on a named sale: of a step-up, or merchandise credit spent on it. That sale takes it up in the shop's own books.</summary>
    StepUpCredit = 243,

    RentalRevenue = 400,

    GoodwillGiven = 405,

    MerchandiseCreditGiven = 406,

    StepUpCreditGiven = 407,

    /// <summary>Contra to rent: lease income that will not be collected lowers income, it is no bad debt.</summary>
    UncollectibleRent = 409,

    PlanRevenue = 410,

    LateFees = 420,

    ReturnedPaymentFees = 421,

    InstrumentSales = 430,

    AccessorySales = 432,

    LossCharges = 440,

    CostOfInstrumentsSold = 500,

    FleetDepreciation = 510,

    UnitsLost = 530,

    /// <summary>Sales tax that the shop itself owes on what a rented unit cost it.</summary>
    SalesTaxOnCost = 550,

    BadDebts = 650,

    /// <summary>Memo: equity that families could still use, outside the balance sheet.</summary>
    EquityHeld = 900,

    EquityContra = 901,

    /// <summary>Memo: units at families, one to a unit.</summary>
    UnitsOnRent = 902,

    UnitsContra = 903,
}

/// <summary>Why an account moved. Stored with every posting: add, never change.</summary>
public enum Movement
{
    Charged = 1,
    ChargeReversed = 2,
    Settled = 3,
    Reopened = 4,
    Received = 5,
    PaymentReversed = 6,
    Refunded = 7,
    Given = 8,
    Released = 9,

    /// <summary>What was still deferred when a contract ended, released on that day.</summary>
    ReleasedAtEnd = 10,
    WrittenOff = 11,
    Recovered = 12,
    Placed = 13,
    BackInStore = 14,
    Sold = 15,
    Lost = 16,

    /// <summary>A unit given up for lost that turned up, or a sale undone.</summary>
    Found = 17,
    Earned = 18,

    /// <summary>Equity taken back: its rent was returned by a bank, or refunded.</summary>
    Unearned = 19,
    Used = 20,
    Lapsed = 21,
    Restored = 22,

    /// <summary>Equity that an exchange did not carry to the other instrument.</summary>
    NotCarried = 23,
    TaxedOnCost = 24,
    Depreciated = 25,

    /// <summary>Depreciation that left with the unit it belonged to.</summary>
    Disposed = 26,

    /// <summary>Merchandise credit that went into a sale.</summary>
    Spent = 27,
}
