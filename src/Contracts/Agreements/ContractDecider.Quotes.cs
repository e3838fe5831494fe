using Contracts.Instruments;
using Contracts.Terms;
using NodaTime;

namespace Contracts.Agreements;

/// <summary>A signing that names a quote signs what was quoted, while it holds.</summary>
public static partial class ContractDecider
{
    private static Refusal? QuoteFault(DecisionContext context, LocalDate on, ContractCommand.Sign c)
    {
        if (c.Quote is not { } id) { return null; }
        if (context.Quotes is null || !context.Quotes.TryGetValue(id, out var quote))
        {
            return new Refusal(RefusalCode.QuoteUnknown, $"No quote '{id}' was given.", "quote");
        }

        if (on > quote.ValidThrough)
        {
            return new Refusal(RefusalCode.QuoteExpired, $"The quote '{id}' held through {Iso(quote.ValidThrough)}.", "on", Iso(quote.ValidThrough));
        }

        return Difference(quote.Offer, c) is { } other
            ? new Refusal(RefusalCode.QuoteDiffers, $"The quote '{id}' says {other.Right} for {other.Field}.", other.Field, other.Right)
            : null;
    }

    /// <summary>The first field in which a signing is not what was offered, and what was. The unit may be another of its kind and condition.</summary>
    private static (string Field, string Right)? Difference(Offer offer, ContractCommand.Sign c)
    {
        if (offer.Household is { } household && household != c.Household) { return ("household", household); }
        if (offer.State != c.State) { return ("state", offer.State); }
        if (offer.Jurisdiction != c.Jurisdiction) { return ("jurisdiction", offer.Jurisdiction); }
        if (offer.StartOn != c.StartOn) { return ("startOn", Iso(offer.StartOn)); }
        if (offer.StartsAtDelivery != c.StartsAtDelivery) { return ("startsAtDelivery", offer.StartsAtDelivery ? "true" : "false"); }
        if (TermsDifference.First(offer.Terms, c.Terms) is { } terms) { return terms; }
        if (offer.WithPlan != c.WithPlan) { return ("planElected", offer.WithPlan ? "true" : "false"); }
        if (!offer.Accessories.AsSpan().SequenceEqual(c.Accessories.AsSpan())) { return ("accessories", Words(offer.Accessories.AsSpan())); }
        if (offer.Instrument is not { } unit) { return null; }
        if (unit.Kind != c.Instrument.Kind) { return ("instrument.kind", unit.Kind); }
        // A quote that left the condition open is kept by a unit of either: the act of the state may want it told at signing.
        return unit.Condition is not { } condition || condition == c.Instrument.Condition ? null : ("instrument.condition", condition);
    }

    private static string Words(ReadOnlySpan<Accessory> accessories)
    {
        var words = "";
        foreach (var accessory in accessories) { words += $"{(words.Length > 0 ? ", " : "")}{accessory.Description} {accessory.Price}"; }
        return words.Length > 0 ? words : "none";
    }
}
