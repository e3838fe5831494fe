namespace Contracts.Law;

/// <summary>The most that a pack lets a family be asked for a unit that is lost, stolen or does not come back.</summary>
public static class LossLimits
{
    /// <summary>
    /// The limit, rounded down, and its section; null where the pack has none that can be worked out. Of several figures the
    /// least that is known counts: one that is not known could only lower it.
    /// </summary>
    /// <param name="pack">The pack of the contract.</param>
    /// <param name="now">Where the agreement stands on the day of the loss; what is past due is asked apart and counts as paid.</param>
    /// <param name="price">The early purchase price of the day.</param>
    /// <param name="marketValue">What the unit would have sold for when it was lost, where somebody said so.</param>
    public static (Money Most, string Citation)? Of(LawPack pack, PriceStanding now, Money price, Money? marketValue)
    {
        (Money Most, string Citation)? lowest = null;
        foreach (var rule in pack.Of<LawRule.LossCap>(now.SignedOn))
        {
            if (rule.Binding && Of(rule, now, price, marketValue) is { } most && (lowest is not { } low || most < low.Most)) { lowest = (most, rule.Citation); }
        }

        return lowest;
    }

    /// <summary>What one rule comes to, or null where none of its figures is known.</summary>
    public static Money? Of(LawRule.LossCap rule, PriceStanding now, Money price, Money? marketValue)
    {
        Fraction? least = null;
        foreach (var basis in rule.LesserOf)
        {
            if (Figure(basis, now, price, marketValue) is { } figure && (least is not { } low || figure < low)) { least = figure; }
        }

        return least is { } found ? Fraction.Max(found, Fraction.Zero).RoundedDown() : null;
    }

    private static Fraction? Figure(LossBasis basis, PriceStanding now, Money price, Money? marketValue) => basis switch
    {
        LossBasis.FairMarketValue => marketValue is { } value ? Fraction.Of(value) : null,
        LossBasis.EarlyPurchasePrice => Fraction.Of(price),
        LossBasis.RemainingRent => Fraction.Of(now.RentNotYetDue),
        LossBasis.CashPriceTimesRemaining => now.Installments == 0 ? Fraction.Zero : Fraction.Of(now.CashPrice) * Fraction.Of(now.Remaining, now.Installments),
        LossBasis.CashPriceLessPaid => Fraction.Of(now.CashPrice) - Fraction.Of(now.RentPaid),
        _ => null,
    };
}
