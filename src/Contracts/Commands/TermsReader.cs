using System.Collections.Immutable;
using Contracts.Agreements;
using Contracts.Instruments;
using Contracts.Terms;

namespace Contracts.Commands;

/// <summary>Reads the shapes that signing and exchanging share: terms, instruments, accessories, tax entries.</summary>
internal static class TermsReader
{
    public static ContractTerms Terms(Fields fields)
    {
        var introductory = fields.OptionalObject("introductory");
        var plan = fields.OptionalObject("plan");
        var late = fields.OptionalObject("lateFee");
        return new ContractTerms(
            fields.Amount("cashPrice"),
            fields.Amount("purchasePrice"),
            introductory is null
                ? new IntroductoryPeriod(0, Money.Zero)
                : new IntroductoryPeriod(introductory.WholeNumber("months"), introductory.Amount("payment")),
            fields.Amount("monthlyRent"),
            fields.Rate("creditShare"),
            [.. fields.List("earlyPurchase").Select(Tier)],
            plan is null ? null : new ProtectionPlan(plan.Amount("monthly"), plan.OptionalFlag("chargedInIntroductory")),
            late is null
                ? new LateFeeTerms(Money.Zero, 0)
                : new LateFeeTerms(late.Amount("amount"), late.WholeNumber("graceDays")),
            fields.OptionalAmount("returnedPaymentFee") ?? Money.Zero);
    }

    public static Instrument Instrument(Fields fields) => new(
        fields.Text("kind"), fields.Text("serial"), fields.OptionalText("condition"), fields.OptionalAmount("cost"));

    public static ImmutableArray<Accessory> Accessories(Fields fields) =>
        [.. fields.List("accessories").Select(item => new Accessory(item.Text("description"), item.Amount("price")))];

    public static TaxEntry TaxEntry(Fields fields)
    {
        var rate = fields.Rate("rate");
        if (rate < Rate.Nothing || rate > Rate.Whole)
        {
            throw new Unreadable(RefusalCode.FieldInvalid, "A tax rate must be from 0 to 1.", "rate");
        }

        var taxes = fields.Object("taxes");
        return new TaxEntry(fields.Date("from"), rate, new TaxedParts(
            taxes.OptionalFlag("rent"), taxes.OptionalFlag("plan"), taxes.OptionalFlag("fees"), taxes.OptionalFlag("sale")));
    }

    private static EarlyPurchaseTier Tier(Fields fields) =>
        new(fields.OptionalWholeNumber("throughMonth"), fields.Rate("discount"));
}
