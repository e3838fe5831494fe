using System.Collections.Immutable;
using NodaTime;

namespace Contracts.Terms;

/// <summary>Which kinds of charge a jurisdiction taxes.</summary>
public sealed record TaxedParts(bool Rent, bool Plan, bool Fees, bool Sale)
{
    public static readonly TaxedParts None = new(false, false, false, false);
}

/// <summary>What one authority has of a combined rate. The rates of all parts of an entry add up to its rate.</summary>
/// <param name="Authority">Its name, as the shop's return calls it.</param>
/// <param name="Rate">Its own rate, such as 0.01 for one percent.</param>
public sealed record TaxPart(string Authority, Rate Rate);

/// <summary>
/// One entry of a jurisdiction: its combined rate, what it taxes, when rents and the price are taxed, and whose the
/// rate is, from a day on (M28, M78). Every tax is rounded once on the combined rate, half a cent up (M2).
/// </summary>
/// <remarks>Tax rules vary by state. Not tax advice; ask counsel and the state's comptroller.</remarks>
/// <param name="From">The first day on which the entry holds.</param>
/// <param name="Rate">The combined rate of all authorities.</param>
/// <param name="Taxes">What is taxed at all.</param>
/// <param name="Regime">When rents and the price at a purchase are taxed.</param>
/// <param name="Parts">The rate by authority, or none where the whole belongs to the jurisdiction itself.</param>
public sealed record TaxEntry(
    LocalDate From, Rate Rate, TaxedParts Taxes, TaxRegime Regime = TaxRegime.EachPayment, ImmutableArray<TaxPart> Parts = default)
{
    /// <summary>What holds before a jurisdiction's first entry.</summary>
    public static readonly TaxEntry Untaxed = new(LocalDate.MinIsoValue, Rate.Nothing, TaxedParts.None);

    /// <summary>Whether each rent bears tax: also one whose tax rounds to nothing, and none at a rate of zero.</summary>
    public bool BearsOnRent => Rate.Units > 0 && Taxes.Rent && Regime is TaxRegime.EachPayment or TaxRegime.WholePriceAtDelivery;

    /// <summary>Whether the protection plan bears tax.</summary>
    public bool BearsOnPlan => Rate.Units > 0 && Taxes.Plan;

    /// <summary>Whether a fee bears tax.</summary>
    public bool BearsOnFee => Rate.Units > 0 && Taxes.Fees;

    /// <summary>Whether a sale beside the rental bears tax.</summary>
    public bool BearsOnSale => Rate.Units > 0 && Taxes.Sale;

    /// <summary>
    /// The tax an installment's rent carries. Also under <see cref="TaxRegime.WholePriceAtDelivery"/>, for a contract
    /// whose instrument was delivered before that regime began: nothing has been collected on its rents (M80).
    /// </summary>
    public Money OnRent(Money rent) => BearsOnRent ? Rate.Of(rent) : Money.Zero;

    /// <summary>The tax on all rents of a term that is collected when it begins, or null where each rent answers for itself.</summary>
    /// <param name="rents">All rents still to be charged, without tax and plan.</param>
    public Money? AtDelivery(Money rents) =>
        Taxes.Rent && Regime == TaxRegime.WholePriceAtDelivery ? Rate.Of(rents) : null;

    /// <summary>The tax an installment's protection plan carries, rounded by itself (M30).</summary>
    public Money OnPlan(Money plan) => BearsOnPlan ? Rate.Of(plan) : Money.Zero;

    /// <summary>The tax a fee carries on the day it takes effect (M31).</summary>
    public Money OnFee(Money fee) => BearsOnFee ? Rate.Of(fee) : Money.Zero;

    /// <summary>The tax on a sale beside the rental, such as accessories.</summary>
    public Money OnSale(Money price) => BearsOnSale ? Rate.Of(price) : Money.Zero;

    /// <summary>The tax on the early purchase price, which is net of the rents that count toward it (M82).</summary>
    public Money OnPurchase(Money price) =>
        Taxes.Sale || Regime == TaxRegime.NetPriceAtPurchase ? Rate.Of(price) : Money.Zero;

    /// <summary>This entry for a contract on whose rents and price the tax has been collected at delivery (M80).</summary>
    public TaxEntry AfterDelivery() =>
        this with { Taxes = Taxes with { Rent = false, Sale = false }, Regime = TaxRegime.WholePriceAtDelivery };

    /// <summary>Whether a tax of this entry goes to one authority as a whole: the jurisdiction itself.</summary>
    public bool HasOneAuthority => Parts.IsDefaultOrEmpty || Rate.Units <= 0;

    /// <summary>
    /// A tax of this entry by authority, to the cent and with nothing over (M79): each gets its share of the tax cut
    /// off at the cent, and the cents that are left go to the largest fractions, of equal ones to the first as given.
    /// Without parts, or where the rate is zero, all of it is the jurisdiction's own. A negative tax splits like the
    /// positive one.
    /// </summary>
    /// <param name="jurisdiction">The name the tax goes under when the entry has no parts.</param>
    /// <param name="tax">A tax taken under this entry, in cents, rounded already on the combined rate.</param>
    public ImmutableArray<(string Authority, Money Amount)> Split(string jurisdiction, Money tax)
    {
        if (HasOneAuthority) { return [(jurisdiction, tax)]; }
        var (sign, size) = tax.Cents < 0 ? (-1, -(Int128)tax.Cents) : (1, (Int128)tax.Cents);
        var cents = new long[Parts.Length];
        var left = (long)size;
        for (var index = 0; index < cents.Length; index++)
        {
            cents[index] = (long)(size * Parts[index].Rate.Units / Rate.Units);
            left -= cents[index];
        }

        // The sort is stable: of equal fractions the part given first comes first.
        foreach (var index in Enumerable.Range(0, cents.Length).OrderByDescending(index => size * Parts[index].Rate.Units % Rate.Units))
        {
            if (left-- <= 0) { break; }
            cents[index]++;
        }

        return [.. Parts.Select((part, index) => (part.Authority, new Money(sign * cents[index])))];
    }
}
