using System.Collections.Immutable;

namespace Contracts.Law;

/// <summary>The rules that are mostly words out of closed lists: what is told, and what a loss is measured by.</summary>
internal static partial class RuleReader
{
    private static readonly string[] Placements = ["agreement", "agreement-cost-box", "advertisement", "tag", "telephone", "receipt", "notice"];

    private static readonly Dictionary<string, LossBasis> LossWords = new()
    {
        ["fair-market-value-at-loss"] = LossBasis.FairMarketValue,
        ["early-purchase-price-at-loss"] = LossBasis.EarlyPurchasePrice,
        ["early-purchase-price"] = LossBasis.EarlyPurchasePrice,
        ["remaining-rent"] = LossBasis.RemainingRent,
        ["cash-price-times-remaining-over-total"] = LossBasis.CashPriceTimesRemaining,
        ["cash-price-less-rent-paid"] = LossBasis.CashPriceLessPaid,
        ["cost-of-repair"] = LossBasis.CostOfRepair,
        ["original-cost"] = LossBasis.OriginalCost,
    };

    private static LawRule.Disclosure Disclosure(RuleHead head, PackFields fields)
    {
        fields.Keep(
            "trigger", "form", "label", "labels", "extra", "radioBillboardOnly", "estimatesAllowed", "aggregateCashPriceFromItems", "listOrCatalogueOk",
            "modelForm", "onlineOk", "fixedOrder");
        var placement = fields.Text("placement");
        // A place that is mistyped would never be looked at, and its items never be missed.
        if (placement.Length > 0 && !Placements.Contains(placement)) { fields.Unworkable("placement", placement, Placements); }
        return new LawRule.Disclosure(head, placement, Items(fields), fields.Flag("requiredAtSigning", false));
    }

    private static LawRule.Receipt Receipt(RuleHead head, PackFields fields)
    {
        fields.Keep("itemised", "statementSuffices");
        return new LawRule.Receipt(head, fields.Text("trigger"), fields.Flag("onRequest", false), Items(fields));
    }

    private static ImmutableArray<string> Items(PackFields fields)
    {
        ImmutableArray<string> words = [.. fields.Words("items")];
        foreach (var word in words)
        {
            if (DisclosureItems.OfWord(word) is null) { fields.Unworkable("items", word, Enum.GetValues<DisclosureItem>().Select(DisclosureItems.Word)); }
        }

        return words;
    }

    /// <summary>Where the family chooses what a loss is measured by, nothing is limited here.</summary>
    private static LawRule.LossCap Loss(RuleHead head, PackFields fields)
    {
        fields.Keep("consumerChoice", "onlyFor", "damageLesserOf");
        var figures = ImmutableArray.CreateBuilder<LossBasis>();
        foreach (var field in new[] { "lesserOf", "loss" })
        {
            foreach (var word in fields.Words(field))
            {
                if (LossWords.TryGetValue(word, out var basis)) { figures.Add(basis); }
                else { fields.Unworkable(field, word, LossWords.Keys); }
            }
        }

        return new LawRule.LossCap(head, figures.ToImmutable(), fields.Flag("binding", true));
    }

    private static LawRule.AllocationOrder Order(RuleHead head, PackFields fields)
    {
        var word = fields.Text("order");
        if (word is not ("newest-first" or "oldest-first" or "")) { fields.Unworkable("order", word, ["newest-first", "oldest-first"]); }
        return new LawRule.AllocationOrder(head, word == "newest-first");
    }
}
