using System.Diagnostics;

namespace Contracts.Terms;

/// <summary>
/// When a jurisdiction taxes the rents of a contract and the price at a purchase (M78). Plan, fees and accessories
/// follow their own flags under each of them.
/// </summary>
/// <remarks>Which of them a place has is the shop's to enter, after counsel; no state is known to the code.</remarks>
public enum TaxRegime
{
    /// <summary>Each rent with the payment that brings it, and the price at a purchase.</summary>
    EachPayment,

    /// <summary>All rents of the term when it begins (Tex. Tax Code § 151.055(b)); nothing on them afterwards.</summary>
    WholePriceAtDelivery,

    /// <summary>The shop pays tax on what the instrument cost it; rents carry none.</summary>
    LessorCost,

    /// <summary>Rents carry none; what is still to be paid at a purchase is taxed.</summary>
    NetPriceAtPurchase,
}

/// <summary>The words that commands and stored events use for regimes. Stored for ever.</summary>
public static class TaxRegimeWords
{
    /// <summary>The word of a regime, such as <c>each-payment</c>.</summary>
    public static string Word(this TaxRegime regime) => regime switch
    {
        TaxRegime.EachPayment => "each-payment",
        TaxRegime.WholePriceAtDelivery => "whole-price-at-delivery",
        TaxRegime.LessorCost => "lessor-cost",
        TaxRegime.NetPriceAtPurchase => "net-price-at-purchase",
        _ => throw new UnreachableException($"No word for {regime}."),
    };

    /// <summary>The regime of a word, or null where there is none of that word.</summary>
    public static TaxRegime? Read(string word)
    {
        foreach (var regime in Enum.GetValues<TaxRegime>())
        {
            if (regime.Word() == word) { return regime; }
        }

        return null;
    }
}
