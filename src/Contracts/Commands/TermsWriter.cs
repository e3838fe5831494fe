using System.Text.Json.Nodes;
using Contracts.Terms;

namespace Contracts.Commands;

/// <summary>Writes terms as a signing or an exchange names them; the reverse of <see cref="TermsReader"/>.</summary>
internal static class TermsWriter
{
    public static JsonObject Terms(ContractTerms terms)
    {
        var json = new JsonObject
        {
            ["cashPrice"] = terms.CashPrice.ToString(),
            ["purchasePrice"] = terms.PurchasePrice.ToString(),
            ["introductory"] = new JsonObject { ["months"] = terms.Introductory.Months, ["payment"] = terms.Introductory.Payment.ToString() },
            ["monthlyRent"] = terms.MonthlyRent.ToString(),
            ["creditShare"] = terms.CreditShare.ToString(),
            ["earlyPurchase"] = new JsonArray([.. terms.EarlyPurchase.Select(Tier)]),
        };
        if (terms.Plan is { } plan) { json["plan"] = new JsonObject { ["monthly"] = plan.Monthly.ToString(), ["chargedInIntroductory"] = plan.ChargedInIntroductory }; }
        json["lateFee"] = new JsonObject { ["amount"] = terms.LateFee.Amount.ToString(), ["graceDays"] = terms.LateFee.GraceDays };
        json["returnedPaymentFee"] = terms.ReturnedPaymentFee.ToString();
        return json;
    }

    private static JsonNode Tier(EarlyPurchaseTier tier)
    {
        var json = new JsonObject();
        if (tier.ThroughMonth is { } month) { json["throughMonth"] = month; }
        json["discount"] = tier.Discount.ToString();
        return json;
    }
}
