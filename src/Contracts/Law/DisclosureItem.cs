using System.Diagnostics;
using System.Text;

namespace Contracts.Law;

/// <summary>
/// What an act on rental-purchase agreements can ask to be told to a family. A closed list: a law pack names the items it
/// asks for, and they are looked for on the paper.
/// </summary>
/// <remarks>Which of them a state asks for, where, and in which words, varies by state; counsel decides.</remarks>
public enum DisclosureItem
{
    PartiesDate,
    PropertyDesc,
    PropertyDamage,
    NewUsed,
    CashPrice,
    PaymentAmountTiming,
    PaymentCount,
    TotalOfPayments,
    CostOfRental,
    InitialPayment,
    OtherChargesItemized,
    OtherChargesExcluded,
    Tax,
    NoOwnershipUntilPaid,
    LossLiability,
    WaiverOptional,
    EpoStatement,
    ReinstatementNotice,
    Maintenance,
    WarrantyTransfer,
    TerminationRight,
    SigningNotice,
    ReceiptRight,
    DepositTerms,
    InsuranceTerms,
    DefaultTerms,
    RepossessionTerms,
    TransactionType,
    AprImputed,
    PriorAgreementCredit,
    ItemHistory,
    RemainingTotal,
    EpoPriceNow,
    PaidNow,
    DueThisPeriod,
    Location,
}

/// <summary>The words of disclosure items: the code that law packs use, and the heading on a paper.</summary>
public static class DisclosureItems
{
    /// <summary>The code of an item, such as <c>EPO_PRICE_NOW</c>. Stored for ever.</summary>
    public static string Code(this DisclosureItem item)
    {
        var code = new StringBuilder();
        foreach (var letter in item.ToString())
        {
            if (char.IsUpper(letter) && code.Length > 0) { code.Append('_'); }
            code.Append(char.ToUpperInvariant(letter));
        }

        return code.ToString();
    }

    /// <summary>The item of a code, or null where no item has it.</summary>
    public static DisclosureItem? Read(string code)
    {
        foreach (var item in Enum.GetValues<DisclosureItem>())
        {
            if (item.Code() == code) { return item; }
        }

        return null;
    }

    /// <summary>The item of a law pack's word, such as <c>cash-price</c>, or null.</summary>
    public static DisclosureItem? OfWord(string word) => Read(word.Replace('-', '_').ToUpperInvariant());

    /// <summary>How a law pack writes an item, such as <c>cash-price</c>.</summary>
    public static string Word(this DisclosureItem item) => item.Code().Replace('_', '-').ToLowerInvariant();

    /// <summary>What a paper calls an item.</summary>
    public static string Heading(this DisclosureItem item) => item switch
    {
        DisclosureItem.PartiesDate => "Parties and date",
        DisclosureItem.PropertyDesc => "Instrument",
        DisclosureItem.PropertyDamage => "Existing damage",
        DisclosureItem.NewUsed => "New or used",
        DisclosureItem.CashPrice => "Cash price",
        DisclosureItem.PaymentAmountTiming => "Amount and timing of payments",
        DisclosureItem.PaymentCount => "Number of payments",
        DisclosureItem.TotalOfPayments => "Total of payments",
        DisclosureItem.CostOfRental => "Cost of rental services",
        DisclosureItem.InitialPayment => "Due at signing",
        DisclosureItem.OtherChargesItemized => "Other charges",
        DisclosureItem.OtherChargesExcluded => "What the total leaves out",
        DisclosureItem.Tax => "Taxes",
        DisclosureItem.NoOwnershipUntilPaid => "Ownership",
        DisclosureItem.LossLiability => "Loss or theft",
        DisclosureItem.WaiverOptional => "Protection plan",
        DisclosureItem.EpoStatement => "Early purchase",
        DisclosureItem.ReinstatementNotice => "Reinstatement",
        DisclosureItem.Maintenance => "Maintenance",
        DisclosureItem.WarrantyTransfer => "Manufacturer's warranty",
        DisclosureItem.TerminationRight => "Ending the agreement",
        DisclosureItem.SigningNotice => "Before you sign",
        DisclosureItem.ReceiptRight => "Receipts and statements",
        DisclosureItem.DepositTerms => "Deposit",
        DisclosureItem.InsuranceTerms => "Insurance",
        DisclosureItem.DefaultTerms => "Default",
        DisclosureItem.RepossessionTerms => "Recovery of the instrument",
        DisclosureItem.TransactionType => "Kind of agreement",
        DisclosureItem.AprImputed => "Imputed annual rate",
        DisclosureItem.PriorAgreementCredit => "Credit from an earlier agreement",
        DisclosureItem.ItemHistory => "History of the instrument",
        DisclosureItem.RemainingTotal => "Left if all payments are made",
        DisclosureItem.EpoPriceNow => "Price to own today",
        DisclosureItem.PaidNow => "Paid now",
        DisclosureItem.DueThisPeriod => "Due this period",
        DisclosureItem.Location => "Where the instrument is kept",
        _ => throw new UnreachableException($"No heading for {item}."),
    };
}
