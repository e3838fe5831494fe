using System.Collections.Immutable;
using System.Globalization;
using Contracts.Terms;

namespace Contracts.Host.Serving.Pages;

/// <summary>The fields of an offer: a unit, a place, terms. A signing, an exchange and a quote share them.</summary>
internal static class OfferFields
{
    private const int Tiers = 3;

    /// <summary>The instrument that goes out.</summary>
    public static ImmutableArray<DeedField> Unit { get; } =
    [
        new("instrument.kind", "Instrument, such as clarinet"), new("instrument.serial", "Serial number"),
        new("instrument.condition", "Condition", FieldKind.Choice, Choices: ["new", "used"]), new("instrument.cost", "What it cost the shop, $", FieldKind.Amount, Needed: false),
        new("instrument.location", "Where it is kept, where the state's act asks for it", Needed: false),
    ];

    /// <summary>Where and when.</summary>
    public static ImmutableArray<DeedField> Place { get; } =
    [
        new("state", "State whose act applies, such as OR"), new("jurisdiction", "Tax jurisdiction"), new("startOn", "First day of the rental", FieldKind.Day),
        new("startsAtDelivery", "Begins at delivery (first day: the one expected)", FieldKind.Flag, Needed: false),
        new("planElected", "With the protection plan", FieldKind.Flag, Needed: false),
    ];

    /// <summary>The terms, as docs/interface.md has them.</summary>
    public static ImmutableArray<DeedField> Terms { get; } =
    [
        new("terms.cashPrice", "Cash price, $", FieldKind.Amount), new("terms.purchasePrice", "Rent to own it, $", FieldKind.Amount),
        new("terms.introductory.months", "Introductory months", FieldKind.Number, Needed: false),
        new("terms.introductory.payment", "Introductory payment, $", FieldKind.Amount, Needed: false),
        new("terms.monthlyRent", "Monthly rent, $", FieldKind.Amount), new("terms.creditShare", "Share of rent that counts, at most 1.00"),
        .. Enumerable.Range(0, Tiers).SelectMany(tier => new DeedField[]
        {
            new($"terms.earlyPurchase.{tier}.throughMonth", $"Early purchase {tier + 1}: before the end of month; for ever when empty", FieldKind.Number, Needed: false),
            new($"terms.earlyPurchase.{tier}.discount", $"Early purchase {tier + 1}: discount, such as 0.25", Needed: false),
        }),
        new("terms.plan.monthly", "Protection plan a month, $", FieldKind.Amount, Needed: false),
        new("terms.plan.chargedInIntroductory", "Plan charged in introductory months", FieldKind.Flag, Needed: false),
        new("terms.lateFee.amount", "Late fee, $", FieldKind.Amount, Needed: false), new("terms.lateFee.graceDays", "Days of grace", FieldKind.Number, Needed: false),
        new("terms.returnedPaymentFee", "Fee of a returned payment, $", FieldKind.Amount, Needed: false),
    ];

    /// <summary>Whether a field is of those that a shop sets once for all its contracts; a form folds them.</summary>
    public static bool IsSeldomChanged(DeedField field) => field.Name is "terms.creditShare" or "terms.returnedPaymentFee" or "instrument.cost" or "instrument.location"
        || Seldom.Any(beginning => field.Name.StartsWith(beginning, StringComparison.Ordinal));

    private static readonly string[] Seldom = ["terms.introductory.", "terms.earlyPurchase.", "terms.plan.", "terms.lateFee."];

    /// <summary>Terms as the fields would have them.</summary>
    public static IEnumerable<KeyValuePair<string, string>> Of(ContractTerms terms)
    {
        yield return new("terms.cashPrice", terms.CashPrice.ToString());
        yield return new("terms.purchasePrice", terms.PurchasePrice.ToString());
        if (terms.Introductory.Months > 0)
        {
            yield return new("terms.introductory.months", terms.Introductory.Months.ToString(CultureInfo.InvariantCulture));
            yield return new("terms.introductory.payment", terms.Introductory.Payment.ToString());
        }

        yield return new("terms.monthlyRent", terms.MonthlyRent.ToString());
        yield return new("terms.creditShare", terms.CreditShare.ToString());
        foreach (var (index, tier) in terms.EarlyPurchase.Take(Tiers).Index())
        {
            if (tier.ThroughMonth is { } month) { yield return new($"terms.earlyPurchase.{index}.throughMonth", month.ToString(CultureInfo.InvariantCulture)); }
            yield return new($"terms.earlyPurchase.{index}.discount", tier.Discount.ToString());
        }

        if (terms.Plan is { } plan)
        {
            yield return new("terms.plan.monthly", plan.Monthly.ToString());
            if (plan.ChargedInIntroductory) { yield return new("terms.plan.chargedInIntroductory", "yes"); }
        }

        if (terms.LateFee.Amount.IsPositive)
        {
            yield return new("terms.lateFee.amount", terms.LateFee.Amount.ToString());
            yield return new("terms.lateFee.graceDays", terms.LateFee.GraceDays.ToString(CultureInfo.InvariantCulture));
        }

        if (terms.ReturnedPaymentFee.IsPositive) { yield return new("terms.returnedPaymentFee", terms.ReturnedPaymentFee.ToString()); }
    }
}
