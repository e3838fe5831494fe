using System.Collections.Immutable;
using Contracts.Agreements;
using Contracts.Law;
using Contracts.Terms;
using static Contracts.Disclosures.PrintedWords;

namespace Contracts.Disclosures;

/// <summary>One line of the sheet that goes with an agreement.</summary>
/// <param name="Item">The item's code.</param>
/// <param name="Heading">What the paper calls it.</param>
/// <param name="Text">What is told.</param>
public sealed record DisclosureLine(string Item, string Heading, string Text);

/// <summary>
/// The disclosure sheet of an agreement: for each item what the signing data say. Where they hold nothing an item asks for
/// there is no line, and whoever asks for the item learns that it is missing.
/// </summary>
/// <remarks>
/// The sentences are this project's own. Several acts prescribe words, places and type sizes; rent-to-own rules vary by
/// state, and counsel decides.
/// </remarks>
public static partial class DisclosureSheet
{
    /// <summary>The lines of the items that the data have something to say about, in the order asked for.</summary>
    public static ImmutableArray<DisclosureLine> Lines(IEnumerable<DisclosureItem> items, SigningData data) =>
        [.. items.Select(item => (Item: item, Text: Line(item, data))).Where(line => line.Text is not null)
            .Select(line => new DisclosureLine(line.Item.Code(), line.Item.Heading(), line.Text!))];

    /// <summary>The items that the data have nothing to say about: the paper cannot be given to who asks for them.</summary>
    public static ImmutableArray<DisclosureItem> Missing(IEnumerable<DisclosureItem> items, SigningData data) =>
        [.. items.Where(item => Line(item, data) is null)];

    /// <summary>The sheet's line for an item, or null where signing data cannot say it.</summary>
    public static string? Line(DisclosureItem item, SigningData data) => item switch
    {
        DisclosureItem.PartiesDate =>
            $"Agreement {data.Contract} between the shop '{data.Signed.Shop ?? ContractEvent.Signed.MainShop}' and household {data.Signed.Household}, "
            + (data.Exchange is null ? $"signed {Day(data.Signed.On)}." : $"made anew by the exchange of {Day(data.Signed.On)}."),
        DisclosureItem.PropertyDesc => $"One {data.Signed.Instrument.Kind}, serial number {data.Signed.Instrument.Serial}.",
        DisclosureItem.PropertyDamage => "The shop has recorded no damage to this instrument. Tell the shop of any that you see before you sign.",
        DisclosureItem.NewUsed => Condition(data) is { } condition ? $"The instrument is {condition}." : null,
        DisclosureItem.CashPrice => $"{Dollars(data.Signed.Terms.CashPrice)} is the price at which the shop sells this instrument for cash.",
        DisclosureItem.PaymentAmountTiming => Timing(data),
        DisclosureItem.PaymentCount => $"{Count(data.Exchange is null ? data.Account.Installments.Total : data.Payments.Sum(run => run.Count), "payment")} to ownership, "
            + "if each is made when due.",
        DisclosureItem.TotalOfPayments => data.Exchange is { } left
            ? $"{Dollars(left.RentAhead)} in rent from this exchange to ownership."
            : $"{Dollars(data.Account.TotalCost)} in rent to ownership.",
        DisclosureItem.CostOfRental => data.Exchange is null
            ? $"{Dollars(data.Account.CostOfRental)}: the total of payments less the cash price."
            : $"{Dollars(data.Account.CostOfRental)}: what these terms would ask in rent without the equity carried over, {Dollars(data.Account.TotalCost)}, less the cash price.",
        DisclosureItem.InitialPayment => Initial(data),
        DisclosureItem.OtherChargesItemized => OtherCharges(data),
        DisclosureItem.OtherChargesExcluded =>
            "The total of payments leaves out taxes, the protection plan, accessories, late fees and fees for returned payments.",
        DisclosureItem.Tax => Taxes(data),
        DisclosureItem.NoOwnershipUntilPaid =>
            "You do not own the instrument until the total of payments is paid, or until you buy it earlier.",
        DisclosureItem.LossLiability => Loss(data),
        DisclosureItem.WaiverOptional => Plan(data),
        DisclosureItem.EpoStatement => EarlyPurchase(data),
        DisclosureItem.ReinstatementNotice =>
            $"After a return you can go on with the agreement, with the equity you had, {Window(data.Law, data.Signed.On)}, once nothing is past due.",
        DisclosureItem.Maintenance =>
            "The shop keeps the instrument in working order while it is rented, by repair or by a swap for another of its kind.",
        DisclosureItem.WarrantyTransfer =>
            "A manufacturer's warranty that is still in force passes to you when you become the owner, if its terms allow that.",
        DisclosureItem.TerminationRight =>
            "You may end the agreement at any time by returning the instrument and paying what has fallen due. Nothing more falls due then, "
            + "and rent of the running month is not given back.",
        DisclosureItem.SigningNotice => "Read this agreement before you sign it. Do not sign it while anything in it is blank. You get a copy.",
        DisclosureItem.ReceiptRight =>
            "You get a receipt for each payment. It says what the payment paid, what is left if all payments are made, and the price to own that day. "
            + "You get a statement of account when you ask for one.",
        DisclosureItem.DepositTerms => "No deposit is taken.",
        DisclosureItem.InsuranceTerms => "You need not insure the instrument, and the shop insures nothing for you.",
        DisclosureItem.DefaultTerms => "You are in default while any part of a payment is unpaid after its due date.",
        DisclosureItem.RepossessionTerms =>
            "If you are in default the shop may ask for the instrument back, and may recover it by peaceful and lawful means.",
        DisclosureItem.TransactionType => "This is a rental-purchase agreement. You rent the instrument and may become its owner.",
        DisclosureItem.PriorAgreementCredit => data.Exchange is { Carried.IsPositive: true } over
            ? $"{Dollars(over.Carried)} of equity is carried over from the terms before and counts toward this instrument."
            : "No credit from an earlier agreement is carried into this one.",
        DisclosureItem.RemainingTotal => $"{Dollars(data.Account.RemainingBySchedule)} {(data.Exchange is null ? "at signing" : "after the exchange")}.",
        DisclosureItem.EpoPriceNow => $"{Dollars(data.Account.EarlyPurchase.Price)} on {Day(data.Account.On)}, without tax.",
        DisclosureItem.DueThisPeriod => data.First is { } first ? $"{Dollars(first.Amount)} on {Day(first.On)}." : null,
        DisclosureItem.Location => data.Signed.Instrument.Location is { } place ? $"The instrument is kept at {place}. Tell the shop before that changes." : null,
        // What signing data do not hold: a receipt says what is paid, and the rest is not recorded.
        DisclosureItem.PaidNow or DisclosureItem.AprImputed or DisclosureItem.ItemHistory => null,
        _ => throw new System.Diagnostics.UnreachableException($"No line for {item}."),
    };
}
