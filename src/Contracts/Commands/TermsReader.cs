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
        fields.Text("kind"), fields.Text("serial"), fields.OptionalText("condition"), fields.OptionalAmount("cost"), fields.OptionalAmount("retailValue"),
        fields.OptionalAmount("earlierRents"), fields.OptionalFlag("schoolUse") ? true : null, fields.OptionalText("location"));

    public static ImmutableArray<Accessory> Accessories(Fields fields) =>
        [.. fields.List("accessories").Select(item => new Accessory(item.Text("description"), item.Amount("price")))];

    public static TaxEntry TaxEntry(Fields fields)
    {
        var rate = TaxRate(fields, "rate");
        var taxes = fields.Object("taxes");
        return new TaxEntry(
            fields.Date("from"), rate,
            new TaxedParts(
                taxes.OptionalFlag("rent"), taxes.OptionalFlag("plan"), taxes.OptionalFlag("fees"), taxes.OptionalFlag("sale")),
            Regime(fields), Parts(fields, rate));
    }

    private static Rate TaxRate(Fields fields, string path)
    {
        var rate = fields.Rate("rate");
        return rate >= Rate.Nothing && rate <= Rate.Whole
            ? rate
            : throw new Unreadable(RefusalCode.FieldInvalid, "A tax rate must be from 0 to 1.", path);
    }

    private static TaxRegime Regime(Fields fields)
    {
        if (fields.OptionalText("regime") is not { } word) { return TaxRegime.EachPayment; }
        return TaxRegimeWords.Read(word) ?? throw new Unreadable(
            RefusalCode.FieldInvalid,
            $"'regime' must be one of {string.Join(", ", Enum.GetValues<TaxRegime>().Select(TaxRegimeWords.Word))}.", "regime");
    }

    /// <summary>The rate by authority; one that is named twice would be a typing error, and so would a sum that is not the rate.</summary>
    private static ImmutableArray<TaxPart> Parts(Fields fields, Rate rate)
    {
        ImmutableArray<TaxPart> parts = [.. fields.List("parts").Select(part => new TaxPart(part.Text("authority"), TaxRate(part, "parts.rate")))];
        if (parts.DistinctBy(part => part.Authority).Count() != parts.Length)
        {
            throw new Unreadable(RefusalCode.FieldInvalid, "An authority has one part of the rate.", "parts.authority");
        }

        var sum = new Rate(parts.Sum(part => part.Rate.Units));
        return parts.IsEmpty || sum == rate
            ? parts
            : throw new Unreadable(RefusalCode.FieldInvalid, $"The parts add up to {sum}; they must add up to the rate.", "parts", rate.ToString());
    }

    private static EarlyPurchaseTier Tier(Fields fields) =>
        new(fields.OptionalWholeNumber("throughMonth"), fields.Rate("discount"));
}
