using NodaTime;

namespace Contracts.Law;

/// <summary>An item that an act asks to be told.</summary>
/// <param name="Item">The item.</param>
/// <param name="Citation">The section that asks for it.</param>
/// <param name="RequiredAtSigning">Whether a signing without its fact is refused, also where the fact is one that a signing may leave out.</param>
public sealed record AskedItem(DisclosureItem Item, string Citation, bool RequiredAtSigning);

/// <summary>What a pack asks of the papers, item by item, in the order of its rules.</summary>
public static class AskedItems
{
    /// <summary>What an agreement of a day has to tell; nothing where the act leaves out such instruments.</summary>
    public static IEnumerable<AskedItem> OfAgreement(LawPack? pack, LocalDate day, bool schoolUse)
    {
        if (pack is null || (schoolUse && pack.Scope is { } scope && scope.Exclusions.Contains(LawScope.SchoolInstrument))) { return []; }
        return pack.Of<LawRule.Disclosure>(day).Where(rule => rule.Placement.StartsWith("agreement", StringComparison.Ordinal))
            .SelectMany(rule => Items(rule.Items, rule.Citation, rule.RequiredAtSigning));
    }

    /// <summary>
    /// What a receipt has to state under an agreement of a day. A rule that asks for receipts only of some payments, or only
    /// on request, is followed for every receipt: nothing is left out for the way the money came.
    /// </summary>
    public static IEnumerable<AskedItem> OfReceipt(LawPack? pack, LocalDate day)
    {
        if (pack is null) { return []; }
        return pack.Of<LawRule>(day).SelectMany(rule => rule switch
        {
            LawRule.Receipt receipt => Items(receipt.Items, receipt.Citation, false),
            LawRule.Disclosure { Placement: "receipt" } disclosure => Items(disclosure.Items, disclosure.Citation, false),
            _ => [],
        });
    }

    private static IEnumerable<AskedItem> Items(IEnumerable<string> words, string citation, bool required)
    {
        foreach (var word in words)
        {
            if (DisclosureItems.OfWord(word) is { } item) { yield return new AskedItem(item, citation, required); }
        }
    }
}
