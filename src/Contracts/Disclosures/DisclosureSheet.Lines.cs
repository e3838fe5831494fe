using Contracts.Law;
using Contracts.Terms;
using NodaTime;
using static Contracts.Disclosures.PrintedWords;

namespace Contracts.Disclosures;

/// <summary>The lines that need more than a sentence.</summary>
public static partial class DisclosureSheet
{
    private static string Timing(SigningData data)
    {
        var runs = data.Payments.Select(run => run.Count == 1
            ? $"1 payment of {Dollars(run.Rent)} on {Day(run.FirstOn)}"
            : $"{Count(run.Count, "monthly payment")} of {Dollars(run.Rent)} from {Day(run.FirstOn)} to {Day(run.LastOn)}");
        return $"{string.Join("; ", runs)}. This is rent; tax and an elected plan are added.{AtDelivery(data)}";
    }

    /// <summary>Every day on the sheet is then one expected. An exchange comes after the delivery, when the days are known.</summary>
    private static string AtDelivery(SigningData data) => !data.Signed.StartsAtDelivery || data.Exchange is not null ? ""
        : $" The rental begins on the day the instrument is delivered, expected on {Day(data.Signed.StartOn)}: the days on this sheet move with it, nothing falls due "
            + "before, and if you cancel before the delivery all that you paid is given back, but for a fee for a payment that a bank returned.";

    private static string Initial(SigningData data)
    {
        // What the signing's own day brings is due; a start further ahead brings its first payment then.
        var due = $"{Dollars(data.Account.PastDue)} is due on the day of {(data.Exchange is null ? "signing" : "the exchange")}, with tax and accessories.";
        return data.First is { } first && first.On > data.Signed.On ? $"{due} The first payment, {Dollars(first.Amount)}, is due on {Day(first.On)}." : due;
    }

    /// <summary>New or used, and nothing else that somebody may have written there; the first form printed whatever it was.</summary>
    private static string? Condition(SigningData data) =>
        data.Signed.Instrument.Condition is { } condition && (data.Form == 1 || condition is "new" or "used") ? condition : null;

    private static string Loss(SigningData data)
    {
        var cap = data.Form == 1 ? null : data.Law?.Of<LawRule.LossCap>(data.Signed.On).FirstOrDefault(rule => rule.Binding && !rule.LesserOf.IsEmpty);
        return "If the instrument is lost or stolen you owe the early purchase price of the day of your report"
            + (cap is null ? "" : $", or what {cap.Citation} allows where that is less") + ", beside what is past due. Rent ends with that day.";
    }

    private static string OtherCharges(SigningData data)
    {
        var terms = data.Signed.Terms;
        var charges = new List<string>();
        if (data.Signed.WithPlan && terms.Plan is { } plan) { charges.Add($"the protection plan, {Dollars(plan.Monthly)} a month"); }
        foreach (var accessory in data.Signed.Accessories) { charges.Add($"{accessory.Description}, {Dollars(accessory.Price)} once"); }
        if (terms.LateFee.Amount.IsPositive)
        {
            charges.Add($"a late fee, {Dollars(terms.LateFee.Amount)} once for a payment still unpaid {Count(terms.LateFee.GraceDays, "day")} after it was due");
        }

        if (terms.ReturnedPaymentFee.IsPositive) { charges.Add($"a fee for a payment returned by a bank, {Dollars(terms.ReturnedPaymentFee)} each time"); }
        charges.Add("a fee for a unit not brought back after a swap, the early purchase price of the swap's day");
        return $"There can be: {string.Join("; ", charges)}. Taxes may be added.";
    }

    private static string Taxes(SigningData data)
    {
        var tax = data.Tax;
        var taxed = new List<string>();
        if (tax.OnRent(new Money(100_00)).IsPositive || tax.AtDelivery(new Money(100_00)) is { IsPositive: true }) { taxed.Add("rent"); }
        if (tax.Taxes.Plan) { taxed.Add("the protection plan"); }
        if (tax.Taxes.Fees) { taxed.Add("fees"); }
        if (tax.Taxes.Sale) { taxed.Add("accessories and an early purchase"); }
        else if (tax.Regime == TaxRegime.NetPriceAtPurchase) { taxed.Add("an early purchase"); }
        var then = data.Exchange is null ? "signing" : "the exchange";
        var what = taxed.Count == 0 || tax.Rate <= Rate.Nothing
            ? $"Nothing is taxed in {data.Signed.Jurisdiction} by the rate known at {then}."
            : $"{Percent(tax.Rate)} in {data.Signed.Jurisdiction} on {string.Join(", ", taxed)}, by the rate known at {then}.";
        return tax.Regime == TaxRegime.WholePriceAtDelivery && tax.Taxes.Rent
            ? $"{what} The tax on all rents is due with the first payment."
            : $"{what} Another rate holds from the day it begins.";
    }

    private static string Plan(SigningData data) => data.Signed.Terms.Plan is not { } plan
        ? "No protection plan or damage waiver is offered."
        : $"The protection plan is optional and costs {Dollars(plan.Monthly)} a month. "
            + (data.Signed.WithPlan ? "You have elected it and may cancel it." : "You have not elected it.");

    private static string EarlyPurchase(SigningData data)
    {
        var tiers = data.Signed.Terms.EarlyPurchase.Select((tier, place) => tier.ThroughMonth is { } month
            ? $"{Percent(tier.Discount)} less before {Day(data.Signed.StartOn.PlusMonths(month + (data.Exchange?.Shift ?? 0)))}"
            : $"{Percent(tier.Discount)} less{(place > 0 ? " after that" : "")}");
        var discount = string.Join(", ", tiers);
        return "You may buy the instrument at any time. The price is what remains to own with everything paid that is due"
            + (discount.Length > 0 ? $", {discount}" : "")
            + $"; a ceiling of your state's act that is lower counts. Of each rent {Percent(data.Signed.Terms.CreditShare)} counts toward the purchase.";
    }

    /// <summary>How long a return can be undone: the days of the act with its section, or the shop's own.</summary>
    public static string Window(LawPack? law, LocalDate agreementOn)
    {
        foreach (var rule in law?.Of<LawRule.Reinstatement>(agreementOn) ?? [])
        {
            if (rule.AfterRepossession) { continue; }
            var lengths = rule.AfterReturn.Select(tier => tier.Length.Years > 0 ? Count(tier.Length.Years, "year") : Count(tier.Length.Days, "day")).ToList();
            return lengths.Count == 0
                ? $"within the time that {rule.Citation} gives"
                : $"within {string.Join(" or ", lengths)}, as {rule.Citation} counts them";
        }

        return $"within {Count(States.DefaultReinstatementDays, "day")}, unless the act of your state gives you longer";
    }
}
