using System.Text.Json.Nodes;
using Contracts.Terms;
using NodaTime.Text;

namespace Contracts.Replays;

/// <summary>Terms and tax entries as command lines write them (docs/interface.md).</summary>
internal static class TermsLines
{
    public static JsonObject Of(ContractTerms terms)
    {
        var tiers = new JsonArray();
        foreach (var tier in terms.EarlyPurchase)
        {
            var line = new JsonObject { ["discount"] = tier.Discount.ToString() };
            if (tier.ThroughMonth is { } month) { line["throughMonth"] = month; }
            tiers.Add(line);
        }

        var json = new JsonObject
        {
            ["cashPrice"] = terms.CashPrice.ToString(), ["purchasePrice"] = terms.PurchasePrice.ToString(),
            ["introductory"] = new JsonObject { ["months"] = terms.Introductory.Months, ["payment"] = terms.Introductory.Payment.ToString() },
            ["monthlyRent"] = terms.MonthlyRent.ToString(), ["creditShare"] = terms.CreditShare.ToString(), ["earlyPurchase"] = tiers,
            ["lateFee"] = new JsonObject { ["amount"] = terms.LateFee.Amount.ToString(), ["graceDays"] = terms.LateFee.GraceDays },
            ["returnedPaymentFee"] = terms.ReturnedPaymentFee.ToString(),
        };
        if (terms.Plan is { } plan) { json["plan"] = new JsonObject { ["monthly"] = plan.Monthly.ToString(), ["chargedInIntroductory"] = plan.ChargedInIntroductory }; }
        return json;
    }

    public static void Add(JsonObject line, TaxEntry entry)
    {
        line["from"] = LocalDatePattern.Iso.Format(entry.From);
        line["rate"] = entry.Rate.ToString();
        line["taxes"] = new JsonObject { ["rent"] = entry.Taxes.Rent, ["plan"] = entry.Taxes.Plan, ["fees"] = entry.Taxes.Fees, ["sale"] = entry.Taxes.Sale };
        line["regime"] = entry.Regime.Word();
        if (entry.Parts.IsDefaultOrEmpty) { return; }
        line["parts"] = new JsonArray([.. entry.Parts.Select(part => (JsonNode)new JsonObject { ["authority"] = part.Authority, ["rate"] = part.Rate.ToString() })]);
    }
}
