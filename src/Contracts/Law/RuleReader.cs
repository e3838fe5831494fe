using System.Collections.Frozen;
using System.Collections.Immutable;
using NodaTime;

namespace Contracts.Law;

/// <summary>Reads one rule of a pack: a kind that the engine works with, or one that is kept as it is stated.</summary>
internal static partial class RuleReader
{
    /// <summary>The kinds that are kept as stated, with the fields each may have.</summary>
    private static readonly FrozenDictionary<string, string[]> StatedKinds = new Dictionary<string, string[]>
    {
        ["notice"] = ["event", "deadline", "content", "channel", "repeat"],
        ["retention"] = ["what", "period"],
        ["statement-on-request"] = ["withinDays", "content", "freePerYear", "extraFee"],
        ["service-duty"] = ["who", "scope", "noRentWhileRepairingUnlessLoaner", "substituteOnReinstatement", "replaceIfRepairOverDays", "comparable"],
        ["hardship"] = ["condition", "reduction", "totalUnchanged", "paymentCountMayRise"],
        ["prohibited-term"] = ["terms"],
        ["statutory-damages"] = ["minimum", "maximum", "percentOfTotal", "measure", "limitationYears", "correctionDays", "flat", "plus"],
        ["form"] = ["type"],
        ["rate-cap"] = ["percent", "measure"],
        ["dollar-line"] = ["thresholdUsd"],
        ["grace-before-default"] = ["base", "count"],
    }.ToFrozenDictionary(StringComparer.Ordinal);

    private static readonly Dictionary<string, Verified> VerifiedWords = new()
    {
        ["read"] = Verified.Read, ["partly-read"] = Verified.PartlyRead, ["from-memory"] = Verified.FromMemory,
    };

    private static readonly Dictionary<string, CapSubject> Subjects = new()
    {
        ["cash-price"] = CapSubject.CashPrice, ["total-of-payments"] = CapSubject.TotalOfPayments, ["cost-of-rental"] = CapSubject.CostOfRental,
    };

    private static readonly Dictionary<string, WhichRental> Rentals = new()
    {
        ["any"] = WhichRental.Any, ["first"] = WhichRental.First, ["later"] = WhichRental.Later,
    };

    private static readonly Dictionary<string, CapBase> Bases = new()
    {
        ["cash-price"] = CapBase.CashPrice, ["cost"] = CapBase.Cost, ["maximum-cash-price"] = CapBase.MaximumCashPrice,
        ["maximum-total-of-first-rental"] = CapBase.MaximumTotalOfFirstRental, ["retail-value"] = CapBase.RetailValue,
    };

    private static readonly Dictionary<string, PriceFormula> Formulas = new()
    {
        ["contract"] = PriceFormula.Contract, ["cash-price"] = PriceFormula.CashPrice,
        ["payments-not-yet-due"] = PriceFormula.PaymentsNotYetDue, ["total-less-paid"] = PriceFormula.TotalLessPaid,
    };

    private static readonly Dictionary<string, string> Bounds = Same("at-most", "less-than", "at-least", "more-than");
    private static readonly Dictionary<string, string> GraceBounds = Same("more-than", "at-least", "none-stated");
    private static readonly Dictionary<string, string> Measures = Same("any", "payments-made", "money-paid");
    private static readonly Dictionary<string, string> DayUnits = Same("days", "business-days");
    private static readonly Dictionary<string, string> WindowUnits = Same("days", "business-days", "lease-terms", "missed-payments");

    public static LawRule Read(PackFields fields, IReadOnlyCollection<string> sources)
    {
        var source = fields.Text("source");
        if (source.Length > 0 && !sources.Contains(source)) { fields.Fault("source", $"'{source}' is not among the pack's sources."); }
        var head = new RuleHead(
            fields.Text("kind"), fields.Text("citation"), fields.Word("verified", VerifiedWords, required: true), source,
            fields.Day("from"), fields.Day("to"), fields.Flag("loaded", true), fields.Item.Clone());
        if (head.To < head.From) { fields.Fault("to", "ends before it begins."); }
        fields.Keep("how", "note", "wording");
        var rule = Read(head, fields);
        fields.End();
        return rule;
    }

    private static LawRule Read(RuleHead head, PackFields fields)
    {
        switch (head.Kind)
        {
            case "price-cap": return PriceCap(head, fields);
            case "credit-sale-test":
                fields.Keep("subject", "base");
                return new LawRule.CreditSaleTest(head, Required(fields, "factor", head.Loaded));
            case "purchase-price": return Price(head, fields);
            case "ownership-trigger":
                fields.Keep("measure", "effect");
                return new LawRule.OwnershipTrigger(head, Required(fields, "share", head.Loaded));
            case "fee-cap": return Fee(head, fields);
            case "reinstatement-window": return Window(head, fields);
            case "new-agreement-test":
                fields.Keep("trigger", "measure", "notNew", "effect", "substitutionAllowedIf", "severalItemsPercent", "extensionMonths", "applies", "extensionNeedsDisclosure");
                return new LawRule.NewAgreement(head, fields.Has("changePercent") ? fields.Share("changePercent", Fraction.Zero) * Fraction.Of(1, 100) : null);
            case "disclosure": return Disclosure(head, fields);
            case "receipt": return Receipt(head, fields);
            case "minimum-credit-share": return new LawRule.MinimumCreditShare(head, Required(fields, "share", head.Loaded));
            case "loss-cap": return Loss(head, fields);
            case "allocation": return Order(head, fields);
            case "waiver-terms":
                fields.Keep("mayExclude", "separateHandout", "notice", "separateForm", "writtenAgreement", "neverMandatory");
                return new LawRule.Waiver(head, [.. Prices(fields)]);
            default: return Stated(head, fields);
        }
    }

    private static LawRule.Stated Stated(RuleHead head, PackFields fields)
    {
        if (StatedKinds.TryGetValue(head.Kind, out var allowed)) { fields.Keep(allowed); }
        else if (head.Kind.Length > 0)
        {
            fields.Fault("kind", $"'{head.Kind}' is not a kind of rule.");
            foreach (var field in head.Text.EnumerateObject()) { fields.Keep(field.Name); }
        }

        return new LawRule.Stated(head);
    }

    private static LawRule.PriceCap PriceCap(RuleHead head, PackFields fields)
    {
        fields.Keep("byClass", "instruments");
        return new LawRule.PriceCap(
            head, fields.Word("subject", Subjects, required: true), fields.Word("rental", Rentals, required: true), fields.OptionalText("condition"),
            fields.Word("base", Bases, required: head.Loaded), Required(fields, "factor", head.Loaded),
            fields.Share("lessShareOfEarlierRents", Fraction.Zero), fields.Flag("binding", true));
    }

    private static LawRule.PurchasePrice Price(RuleHead head, PackFields fields)
    {
        fields.Keep("plus", "available", "condition", "election", "lowerByAgreement");
        var formula = fields.Word("formula", Formulas, required: true);
        var times = fields.OptionalText("times") switch
        {
            "remaining-over-total" => PriceTimes.RemainingOverTotal,
            "retail-over-total" => PriceTimes.RetailOverTotal,
            _ => PriceTimes.Share,
        };
        var share = times == PriceTimes.Share ? fields.Share("times", Fraction.One) : Fraction.One;
        var floor = fields.OptionalText("floor");
        if (floor is not (null or "one-payment")) { fields.Fault("floor", "must be one-payment."); }
        return new LawRule.PurchasePrice(
            head, formula, times, share, fields.Share("lessShareOfPaid", Fraction.Zero), floor is not null, fields.Whole("fromMonth", 1200), fields.Whole("beforeMonth", 1200));
    }

    private static LawRule.FeeCap Fee(RuleHead head, PackFields fields)
    {
        fields.Keep("count", "oncePerPayment", "instead", "condition", "exception", "plus", "excludes", "waiverMustBeWritten");
        var forbidden = fields.Flag("forbidden", false);
        var amount = fields.Object("amount") is { } part ? FeeAmountReader.Read(part) : null;
        if (amount is null && !forbidden && head.Loaded) { fields.Fault("amount", "is missing; a fee that may not be taken at all is `forbidden`."); }
        var graces = fields.Objects("grace").Select(grace =>
        {
            grace.Keep("start");
            var read = new Grace(
                grace.Text("frequency"), grace.Whole("n", 366) ?? 0, grace.Word("unit", DayUnits, required: true) == "business-days",
                grace.Word("bound", GraceBounds, required: true));
            grace.End();
            return read;
        });
        return new LawRule.FeeCap(
            head, fields.Text("fee"), fields.OptionalText("frequency") ?? "all", forbidden, fields.Flag("lateFeeForbidden", false), amount,
            [.. graces]);
    }

    private static LawRule.Reinstatement Window(RuleHead head, PackFields fields)
    {
        fields.Keep("condition", "sums", "substituteNeedsDisclosures", "count");
        var after = fields.Object("afterReturn");
        var tiers = after is null ? [] : after.Objects("tiers").Select(Tier).ToImmutableArray();
        after?.Keep("start", "condition");
        after?.End();
        return new LawRule.Reinstatement(head, [.. fields.Objects("base").Select(Base)], tiers, fields.OptionalText("after") == "repossession");
    }

    private static WindowTier Tier(PackFields tier)
    {
        var measure = tier.Word("measure", Measures, required: true);
        var (days, years) = (tier.Whole("days", 3660), tier.Whole("years", 10));
        if (days is null == years is null) { tier.Fault("days", "must have a number of days or of years."); }
        var bound = measure == "any" ? "" : tier.Word("bound", Bounds, required: true);
        var share = measure == "any" ? Fraction.Zero : Required(tier, "share", true);
        tier.End();
        return new WindowTier(measure, bound, share, years is { } many ? Period.FromYears(many) : Period.FromDays(days ?? 0));
    }

    private static BaseWindow Base(PackFields part)
    {
        part.Keep("start");
        var either = part.Objects("laterOf").ToList();
        var head = either.Count > 0 ? either[0] : part;
        Fraction? share = null;
        foreach (var other in either)
        {
            if (other.Has("shareOfPeriod")) { share = other.Share("shareOfPeriod", Fraction.One); }
        }

        var window = new BaseWindow(
            part.Text("frequency"), head.Whole("n", 366) ?? 0, head.Word("unit", WindowUnits, required: true), head.Text("start"), share);
        part.End();
        return window;
    }

    private static IEnumerable<(string Frequency, FeeAmount Amount)> Prices(PackFields fields)
    {
        foreach (var price in fields.Objects("price"))
        {
            var frequency = price.Text("frequency");
            if (price.Object("amount") is { } amount) { yield return (frequency, FeeAmountReader.Read(amount)); }
            else { price.Fault("amount", "is missing."); }
            price.End();
        }
    }

    private static Fraction Required(PackFields fields, string name, bool required)
    {
        if (required && !fields.Has(name)) { fields.Fault(name, "is missing."); }
        return fields.Share(name, Fraction.Zero);
    }

    private static Dictionary<string, string> Same(params string[] words) => words.ToDictionary(word => word, StringComparer.Ordinal);
}
