using Contracts.Instruments;
using Contracts.Law;
using NodaTime;

namespace Contracts.Compliance;

/// <summary>An item that an act asks an agreement to tell, and that what was said at the signing cannot answer.</summary>
/// <param name="Asked">The item and its section.</param>
/// <param name="Field">The field of the command that would answer it, or null where none does.</param>
public sealed record UnansweredItem(AskedItem Asked, string? Field);

/// <summary>
/// Looks at a signing, or an exchange that is a new agreement, for what its state's act wants told and nobody said. A
/// signing may leave out where the instrument is kept: the agreement is then not issued, unless the rule says that the
/// signing itself is to be refused.
/// </summary>
public static class DisclosureCheck
{
    /// <summary>The first item that stands in the way of signing, or null.</summary>
    public static UnansweredItem? First(LawPack? pack, LocalDate on, Instrument instrument)
    {
        foreach (var asked in AskedItems.OfAgreement(pack, on, instrument.SchoolUse ?? false))
        {
            if (!IsAnswered(asked.Item, instrument) && (asked.RequiredAtSigning || !MayComeLater(asked.Item)))
            {
                return new UnansweredItem(asked, FieldOf(asked.Item));
            }
        }

        return null;
    }

    /// <summary>Whether a signing with this instrument says what the item asks; everything else follows from terms, dates and law.</summary>
    public static bool IsAnswered(DisclosureItem item, Instrument instrument) => item switch
    {
        DisclosureItem.NewUsed => instrument.Condition is "new" or "used",
        DisclosureItem.Location => instrument.Location is not null,
        // What no command can say of an agreement: a receipt says what is paid, and the rest is not recorded.
        DisclosureItem.PaidNow or DisclosureItem.AprImputed or DisclosureItem.ItemHistory => false,
        _ => true,
    };

    private static bool MayComeLater(DisclosureItem item) => item == DisclosureItem.Location;

    private static string? FieldOf(DisclosureItem item) => item switch
    {
        DisclosureItem.NewUsed => "instrument.condition",
        DisclosureItem.Location => "instrument.location",
        _ => null,
    };
}
