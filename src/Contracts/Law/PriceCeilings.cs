using System.Collections.Immutable;

namespace Contracts.Law;

/// <summary>
/// A ceiling on the early purchase price: the cash price times installments not yet due over installments in all.
/// </summary>
/// <param name="State">The USPS code of the state whose act sets it.</param>
/// <param name="Citation">The section, as figures and refusals name it.</param>
/// <param name="FloorOfOneRent">Whether the ceiling is never below one monthly rent.</param>
public sealed record PriceCeiling(string State, string Citation, bool FloorOfOneRent);

/// <summary>
/// The price ceilings known so far. Rent-to-own law varies by state: a state missing here is not free of ceilings,
/// its act has not been loaded. Not legal advice; ask local counsel.
/// </summary>
public static class PriceCeilings
{
    /// <summary>Both sections were read in a public text of the act; see docs/law.md.</summary>
    public static readonly ImmutableArray<PriceCeiling> All =
    [
        new("NY", "N.Y. Pers. Prop. Law § 504", FloorOfOneRent: true),
        new("HI", "Haw. Rev. Stat. § 481M-6", FloorOfOneRent: false),
    ];

    public static PriceCeiling? For(string state)
    {
        foreach (var ceiling in All)
        {
            if (ceiling.State == state) { return ceiling; }
        }

        return null;
    }
}
