using Contracts.Law;

namespace Contracts.Compliance;

/// <summary>The caps of a pack on what an agreement may ask in all, exact and then rounded down.</summary>
public static class PriceLimits
{
    /// <summary>What a cap comes to for an agreement; null with the reason where a fact is missing.</summary>
    public static (Fraction? Limit, string? Missing) Of(LawPack pack, LawRule.PriceCap cap, AgreementFacts facts)
    {
        var (basis, missing) = BaseOf(pack, cap.Base, facts);
        if (basis is not { } known) { return (null, missing); }
        var limit = known * cap.Factor;
        if (cap.LessShareOfEarlierRents == Fraction.Zero) { return (limit, null); }
        return facts.EarlierRents is { } earlier
            ? (limit - (cap.LessShareOfEarlierRents * Fraction.Of(earlier)), null)
            : (limit, "the unit's earlier rents were not given, and lower it");
    }

    /// <summary>What a cap limits in these terms.</summary>
    public static Money Subject(LawRule.PriceCap cap, AgreementFacts facts) => cap.Subject switch
    {
        CapSubject.CashPrice => facts.Terms.CashPrice,
        CapSubject.TotalOfPayments => facts.Terms.TotalRent,
        _ => facts.Terms.TotalRent - facts.Terms.CashPrice,
    };

    /// <summary>Whether a cap is about this rental of this unit.</summary>
    public static bool IsAbout(LawRule.PriceCap cap, AgreementFacts facts) =>
        cap.Rental switch { WhichRental.First => !facts.Used, WhichRental.Later => facts.Used, _ => true }
        && (cap.Condition is null || cap.Condition == (facts.Used ? "used" : "new"));

    private static (Fraction? Value, string? Missing) BaseOf(LawPack pack, CapBase basis, AgreementFacts facts) => basis switch
    {
        CapBase.CashPrice => (Fraction.Of(facts.Terms.CashPrice), null),
        CapBase.Cost => facts.Cost is { } cost ? (Fraction.Of(cost), null) : (null, "the unit's cost was not given"),
        CapBase.RetailValue => facts.RetailValue is { } value
            ? (Fraction.Of(value), null)
            : (Fraction.Of(facts.Terms.CashPrice), "the average retail value was not given; the cash price stood in for it"),
        CapBase.MaximumCashPrice => Highest(pack, CapSubject.CashPrice, facts),
        _ => Highest(pack, CapSubject.TotalOfPayments, facts),
    };

    /// <summary>The highest cash price or total that the caps of the unit's first rental allow.</summary>
    private static (Fraction? Value, string? Missing) Highest(LawPack pack, CapSubject subject, AgreementFacts facts)
    {
        foreach (var cap in pack.Of<LawRule.PriceCap>(facts.On))
        {
            if (cap.Subject == subject && cap.Condition is null && cap.Rental != WhichRental.Later) { return Of(pack, cap, facts); }
        }

        return (null, "the limit it builds on was not read");
    }
}
